using AutoPlace.Conditioning;
using AutoPlace.Geometry;
using AutoPlace.Landmarks;
using AutoPlace.Registration;
using AutoPlace.Template;
using AutoPlace.Verification;

namespace AutoPlace.Export;

/// <summary>
/// Contents of a placement.json: a placement as other programs see it, in the coordinates, unit and axes of the
/// head's own file. <see cref="FileCoordinates"/> makes one from a result and turns one back to the head frame.
/// </summary>
public sealed record PlacementDocument
{
    /// <summary>The head that was placed on.</summary>
    public required PlacedHead Head { get; init; }

    /// <summary>The template that was placed.</summary>
    public required PlacedTemplate Template { get; init; }

    /// <summary>The landmark network.</summary>
    public required ModelIdentity Model { get; init; }

    /// <summary>Landmarks, in the order of the result.</summary>
    public required IReadOnlyList<PlacedLandmark> Landmarks { get; init; }

    /// <summary>Joints, parents before children.</summary>
    public required IReadOnlyList<PlacedJoint> Joints { get; init; }

    /// <summary>Rows of joints across the face.</summary>
    public required IReadOnlyList<JointSequence> Rows { get; init; }

    /// <summary>Columns of joints down the face.</summary>
    public required IReadOnlyList<JointSequence> Columns { get; init; }

    /// <summary>Outcome of the checks.</summary>
    public required IReadOnlyList<Finding> Findings { get; init; }

    /// <summary>Time taken by each stage.</summary>
    public required IReadOnlyList<StageTiming> Timings { get; init; }
}

/// <summary>The head that a placement is for.</summary>
/// <param name="Source">Name of its file, without folder.</param>
/// <param name="Sha256">SHA-256 of the file, lower-case hexadecimal.</param>
/// <param name="MetresPerUnit">Metres for each unit of the file.</param>
/// <param name="Frame">Where the head is, file coordinates.</param>
/// <param name="Neutral">State of the face by name, unit in the name.</param>
/// <param name="NeedsPerson">Whether a person should look at it.</param>
public sealed record PlacedHead(
    string Source,
    string Sha256,
    double MetresPerUnit,
    HeadFrame Frame,
    IReadOnlyDictionary<string, double> Neutral,
    NeedsPerson NeedsPerson);

/// <summary>The template that was placed.</summary>
/// <param name="Name">Its name.</param>
/// <param name="Version">Its version.</param>
/// <param name="Sha256">SHA-256 of its file, lower-case hexadecimal.</param>
/// <param name="Lattice">Which of its joints were placed.</param>
public sealed record PlacedTemplate(string Name, string Version, string Sha256, LatticeExtent Lattice);

/// <summary>A landmark in file coordinates.</summary>
/// <param name="Name">Anthropometric name.</param>
/// <param name="Position">Position, file coordinates.</param>
/// <param name="Radius90">Radius in the file's unit that holds the true place with 90 % confidence.</param>
/// <param name="Source">Where the position comes from.</param>
public sealed record PlacedLandmark(string Name, Vector3d Position, double Radius90, LandmarkSource Source);

/// <summary>A joint in file coordinates; all lengths in the file's unit.</summary>
public sealed record PlacedJoint
{
    /// <summary>Unique name.</summary>
    public required string Name { get; init; }

    /// <summary>Region of the face, if the rig says.</summary>
    public string? Region { get; init; }

    /// <summary>The subject's side, if the rig says.</summary>
    public Side? Side { get; init; }

    /// <summary>What the joint is for.</summary>
    public required JointKind Kind { get; init; }

    /// <summary>Name of the parent, an earlier joint, or null for a root.</summary>
    public string? Parent { get; init; }

    /// <summary>Position, file coordinates.</summary>
    public required Vector3d Position { get; init; }

    /// <summary>Rotation in the file's axes.</summary>
    public required Rotation3d Rotation { get; init; }

    /// <summary>Position relative to the parent, in the parent's axes; a root's is its position.</summary>
    public required Vector3d LocalTranslation { get; init; }

    /// <summary>Rotation relative to the parent; a root's is its rotation.</summary>
    public required Rotation3d LocalRotation { get; init; }

    /// <summary>The region's size on this head over the template's.</summary>
    public required double LocalSize { get; init; }

    /// <summary>Whether the feature is there.</summary>
    public required JointState State { get; init; }

    /// <summary>Intended signed distance from the skin, positive outside.</summary>
    public required double Lift { get; init; }

    /// <summary>Radius that holds the joint's true place with 90 % confidence.</summary>
    public required double Radius90 { get; init; }

    /// <summary>True when a person fixed the position.</summary>
    public bool PositionLocked { get; init; }

    /// <summary>True when a person fixed the rotation.</summary>
    public bool RotationLocked { get; init; }
}
