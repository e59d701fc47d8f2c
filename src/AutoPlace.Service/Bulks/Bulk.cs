using AutoPlace.Service.Placements;

namespace AutoPlace.Service.Bulks;

/// <summary>Many heads to be placed alike.</summary>
public sealed record BulkRequest : PlacementRequest
{
    /// <summary>The heads, none twice.</summary>
    public required IReadOnlyList<string> Heads { get; init; }
}

/// <summary>Whether a bulk is done.</summary>
public enum BulkState
{
    /// <summary>Some heads aren't placed yet.</summary>
    Running,

    /// <summary>Every head was placed or failed.</summary>
    Done,
}

/// <summary>Many heads that are placed with nobody watching, and one report on them.</summary>
public sealed record Bulk
{
    /// <summary>Opaque name.</summary>
    public required string Id { get; init; }

    /// <summary>Whether it is done.</summary>
    public required BulkState State { get; init; }

    /// <summary>Heads that were placed or failed.</summary>
    public required int Done { get; init; }

    /// <summary>All its heads.</summary>
    public required int Total { get; init; }

    /// <summary>About how long the rest takes, by the mean of those done; null before the first and after the last.</summary>
    public double? SecondsLeft { get; init; }

    /// <summary>When it was asked for.</summary>
    public required DateTimeOffset CreatedAt { get; init; }

    /// <summary>The heads: those done first, the worst first; left out in lists.</summary>
    public IReadOnlyList<BulkRow>? Rows { get; init; }
}

/// <summary>One head of a bulk.</summary>
/// <param name="HeadId">The head.</param>
/// <param name="Name">Name of its file.</param>
/// <param name="PlacementId">Its placement.</param>
/// <param name="State">How far the placement is.</param>
/// <param name="Probability">Probability that it needs correcting; 1 where it failed, null before it is done.</param>
/// <param name="Doubtful">True when somebody has to look.</param>
/// <param name="Errors">Findings of severity error.</param>
/// <param name="Warnings">Findings of severity warning.</param>
/// <param name="Reasons">Why somebody should look.</param>
/// <param name="Findings">What the worst findings say.</param>
/// <param name="Seconds">How long it took; null before it is done.</param>
public sealed record BulkRow(
    string HeadId,
    string Name,
    string PlacementId,
    PlacementState State,
    double? Probability,
    bool Doubtful,
    int Errors,
    int Warnings,
    IReadOnlyList<string> Reasons,
    IReadOnlyList<string> Findings,
    double? Seconds);

/// <summary>All bulks.</summary>
/// <param name="Bulks">Newest first, without rows.</param>
public sealed record BulkList(IReadOnlyList<Bulk> Bulks);
