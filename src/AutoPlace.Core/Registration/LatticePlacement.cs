using AutoPlace.Geometry;
using AutoPlace.Template;

namespace AutoPlace.Registration;

/// <summary>Whether the head has the feature that a joint belongs to.</summary>
public enum JointState
{
    /// <summary>The feature is modelled and the joint lies on it.</summary>
    Modelled,

    /// <summary>The feature isn't modelled here; the joint lies where it would be.</summary>
    Inferred,

    /// <summary>The head has no such feature; the joint is parked.</summary>
    Absent,
}

/// <summary>A joint placed on a head.</summary>
public sealed record JointPlacement
{
    /// <summary>The joint as the template has it.</summary>
    public required ControlJoint Joint { get; init; }

    /// <summary>Position, head frame, interocular distances.</summary>
    public required Vector3d Position { get; init; }

    /// <summary>World rotation, head frame.</summary>
    public required Rotation3d Rotation { get; init; }

    /// <summary>Whether the feature is there.</summary>
    public required JointState State { get; init; }

    /// <summary>The region's size on this head over the template's, both in interocular distances.</summary>
    public required double LocalSize { get; init; }

    /// <summary>Intended signed distance from the skin on this head, interocular distances; 0 for joints that don't ride on the skin.</summary>
    public required double Lift { get; init; }

    /// <summary>Radius in interocular distances within which the joint's true place lies with 90 % confidence.</summary>
    public required double Radius90 { get; init; }

    /// <summary>For skin joints: the point of the head's mesh that the joint stands on; else null.</summary>
    public SurfacePoint? SkinPoint { get; init; }

    /// <summary>True when a person fixed the position.</summary>
    public bool PositionLocked { get; init; }

    /// <summary>True when a person fixed the rotation.</summary>
    public bool RotationLocked { get; init; }

    /// <summary>True when a person set the position, fixed or moved, so that nothing is left to doubt.</summary>
    internal bool IsSet => PositionLocked || Radius90 <= 0;
}

/// <summary>A lattice placed on a head.</summary>
/// <param name="Joints">The joints, in the template's order.</param>
/// <param name="Rows">Rows among these joints.</param>
/// <param name="Columns">Columns among these joints.</param>
public sealed record LatticePlacement(
    IReadOnlyList<JointPlacement> Joints,
    IReadOnlyList<JointSequence> Rows,
    IReadOnlyList<JointSequence> Columns)
{
    /// <summary>For rows that follow a closed edge loop on the template's head, what they were laid on on this one; empty where that isn't known.</summary>
    internal IReadOnlyList<RowsOnLoop> Loops { get; init; } = [];

    /// <summary>This placement with the loops that another one found on the same head.</summary>
    public LatticePlacement OnLoopsOf(LatticePlacement other)
    {
        ArgumentNullException.ThrowIfNull(other);
        return this with { Loops = other.Loops };
    }
}

/// <summary>Rows that belong on one closed edge loop.</summary>
/// <param name="Rows">Their names.</param>
/// <param name="Joints">Names of their joints on the loop.</param>
/// <param name="Line">The likeliest loop of the head, head frame, interocular distances; null when there is none.</param>
/// <param name="Likelihood">How likely the head has such a loop, 0 to 1.</param>
internal sealed record RowsOnLoop(IReadOnlyList<string> Rows, IReadOnlySet<string> Joints, PolygonalChain? Line, double Likelihood);
