using AutoPlace.Export;
using AutoPlace.Geometry;
using AutoPlace.Template;

namespace AutoPlace;

/// <summary>Which joints of a template are placed.</summary>
public enum LatticeExtent
{
    /// <summary>All joints.</summary>
    Full,

    /// <summary>The template's reduced subset, for crowds.</summary>
    Reduced,
}

/// <summary>What the caller wants of a placement. Change it by <c>with</c>.</summary>
public sealed record PlacementOptions
{
    /// <summary>The full built-in lattice, axes and head found by the program.</summary>
    public static PlacementOptions Default { get; } = new();

    /// <summary>Template to place, or null for the built-in one.</summary>
    public TemplateHead? Template { get; init; }

    /// <summary>Which of the template's joints are placed.</summary>
    public LatticeExtent Lattice { get; init; } = LatticeExtent.Full;

    /// <summary>True when the reduced joints are wanted of a template that has only one level; all its joints are placed then.</summary>
    public bool LacksReducedLevel => Lattice == LatticeExtent.Reduced && Template is { ReducedJoints.Count: 0 };

    /// <summary>Direction that is up, file coordinates; null to find it.</summary>
    public Vector3d? Up { get; init; }

    /// <summary>Direction that the face looks in, file coordinates; null to find it.</summary>
    public Vector3d? Front { get; init; }

    /// <summary>Names of the parts that hold the head; empty to find it among all parts.</summary>
    public IReadOnlyList<string> Parts { get; init; } = [];

    /// <summary>True to treat the head as symmetric whatever its mesh says.</summary>
    public bool Symmetric { get; init; }

    /// <summary>Corrections to keep, made on this head or another version of it; null for none.</summary>
    public CorrectionsDocument? Corrections { get; init; }

    /// <summary>A placement of this very head that was corrected elsewhere: what differs from the program's own becomes a correction. Null for none.</summary>
    public PlacementDocument? Corrected { get; init; }

    /// <summary>False to place by looking even on a head of the template's own topology, whose joints are carried over exactly otherwise.</summary>
    public bool CarriesTopology { get; init; } = true;

    /// <summary>Called with the name of a stage as it begins; null for silence.</summary>
    public Action<string>? OnStage { get; init; }
}
