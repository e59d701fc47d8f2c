using AutoPlace.Conditioning;
using AutoPlace.Geometry;
using AutoPlace.Template;

namespace AutoPlace.Export;

/// <summary>
/// Contents of a corrections.json: what a person fixed, in the coordinates, unit and axes of the head's own file.
/// <see cref="CorrectionCoordinates"/> makes one from a result and turns one back to the head frame.
/// </summary>
public sealed record CorrectionsDocument
{
    /// <summary>Name of the head's file, without folder.</summary>
    public required string Source { get; init; }

    /// <summary>SHA-256 of the head's file, lower-case hexadecimal.</summary>
    public required string Sha256 { get; init; }

    /// <summary>Where the head was in the file.</summary>
    public required HeadFrame Frame { get; init; }

    /// <summary>Name of the template.</summary>
    public required string TemplateName { get; init; }

    /// <summary>Version of the template.</summary>
    public required string TemplateVersion { get; init; }

    /// <summary>Corrected joints, by name.</summary>
    public required IReadOnlyList<CorrectedJoint> Joints { get; init; }

    /// <summary>Corrected landmarks, by name.</summary>
    public required IReadOnlyList<CorrectedLandmark> Landmarks { get; init; }
}

/// <summary>What is fixed of a joint; lengths in the file's unit.</summary>
public sealed record CorrectedJoint
{
    /// <summary>Name of the joint.</summary>
    public required string Name { get; init; }

    /// <summary>Locked position, file coordinates; null when it isn't locked.</summary>
    public Vector3d? Position { get; init; }

    /// <summary>Atlas point of that position, interocular distances of the atlas: for joints on the skin the point of the skin. Null to take it from the head that the correction is kept on.</summary>
    public Vector3d? AtlasPoint { get; init; }

    /// <summary>Signed distance from the skin; null for joints that don't ride on it.</summary>
    public double? Lift { get; init; }

    /// <summary>Locked rotation in the file's axes; null when it isn't locked.</summary>
    public Rotation3d? Rotation { get; init; }

    /// <summary>True when the joint belongs to the body rig.</summary>
    public bool OfBodyRig { get; init; }

    /// <summary>How far away joints of the region follow; null to go by what is usually wrong together.</summary>
    public double? Influence { get; init; }

    /// <summary>True when the joints that this one carries move along.</summary>
    public bool CarriesChildren { get; init; }

    /// <summary>Who, when, why.</summary>
    public string? Note { get; init; }
}

/// <summary>A landmark that a person put where it belongs.</summary>
/// <param name="Name">Anthropometric name.</param>
/// <param name="Position">Position, file coordinates.</param>
/// <param name="AtlasPoint">Atlas point of that position; null to take it from the head that the correction is kept on.</param>
/// <param name="Note">Who, when, why.</param>
public sealed record CorrectedLandmark(string Name, Vector3d Position, Vector3d? AtlasPoint, string? Note);
