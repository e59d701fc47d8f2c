using AutoPlace.Geometry;
using AutoPlace.Template;

namespace AutoPlace.Registration.Correcting;

/// <summary>What a person fixed of one joint. Positions and lengths are in the head frame, interocular distances.</summary>
public sealed record JointCorrection
{
    /// <summary>Name of the joint.</summary>
    public required string Joint { get; init; }

    /// <summary>Where the joint is, exactly; null when its position isn't locked.</summary>
    public Vector3d? Position { get; init; }

    /// <summary>
    /// Where that is in the atlas, by which the place is found again on another version of the head: of a joint that
    /// rides on the skin the point of the skin under it, of others the position itself. Null without a position, or where no head told it yet.
    /// </summary>
    public Vector3d? AtlasPoint { get; init; }

    /// <summary>Signed distance from the skin; null for joints that don't ride on it or have no locked position.</summary>
    public double? Lift { get; init; }

    /// <summary>World rotation, head frame; null when it isn't locked.</summary>
    public Rotation3d? Rotation { get; init; }

    /// <summary>True when the joint belongs to the body rig: it keeps position and rotation in the file, whatever the head does.</summary>
    public bool OfBodyRig { get; init; }

    /// <summary>
    /// How far away joints of the region still follow; beyond it none moves. Null to let the rest of the region follow
    /// by what placements are usually wrong together.
    /// </summary>
    public double? Influence { get; init; }

    /// <summary>True when the joints that this one carries move along, unless they are locked themselves.</summary>
    public bool CarriesChildren { get; init; }

    /// <summary>Who, when, why: free text.</summary>
    public string? Note { get; init; }

    /// <summary>True when the position is locked.</summary>
    public bool LocksPosition => Position is not null;

    /// <summary>True when the rotation is locked.</summary>
    public bool LocksRotation => Rotation is not null;
}

/// <summary>A landmark that a person put where it belongs.</summary>
/// <param name="Landmark">Name of the landmark.</param>
/// <param name="Position">Where it is, head frame, interocular distances.</param>
/// <param name="AtlasPoint">Where that is in the atlas; null where no head told it yet.</param>
/// <param name="Note">Who, when, why: free text.</param>
public sealed record LandmarkCorrection(string Landmark, Vector3d Position, Vector3d? AtlasPoint, string? Note = null);
