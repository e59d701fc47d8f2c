using System.Text.Json;
using System.Text.Json.Serialization;
using Microsoft.AspNetCore.Mvc;

namespace AutoPlace.Service.Placements;

/// <summary>How far a placement is.</summary>
public enum PlacementState
{
    /// <summary>Waits for its turn.</summary>
    Queued,

    /// <summary>Is being made.</summary>
    Running,

    /// <summary>Is made.</summary>
    Placed,

    /// <summary>Can't be made; its error says why.</summary>
    Failed,

    /// <summary>Was deleted before it was made.</summary>
    Cancelled,
}

/// <summary>A lattice that is placed on a head, or is to be.</summary>
public sealed record Placement
{
    /// <summary>Opaque name.</summary>
    public required string Id { get; init; }

    /// <summary>The head.</summary>
    public required string HeadId { get; init; }

    /// <summary>The bulk that it belongs to, if any.</summary>
    public string? BulkId { get; init; }

    /// <summary>How far it is.</summary>
    public required PlacementState State { get; init; }

    /// <summary>The stage that is at work; null when none is.</summary>
    public string? Stage { get; init; }

    /// <summary>About how much of the work is done, 0 to 1.</summary>
    public double Fraction { get; init; }

    /// <summary>When it was asked for.</summary>
    public required DateTimeOffset CreatedAt { get; init; }

    /// <summary>When it was made or failed.</summary>
    public DateTimeOffset? FinishedAt { get; init; }

    /// <summary>Why it failed.</summary>
    public ProblemDetails? Error { get; init; }

    /// <summary>How it was asked for.</summary>
    public required PlacementRequest Options { get; init; }

    /// <summary>Number of the current revision; null before it is made.</summary>
    public int? Revision { get; init; }

    /// <summary>Contents of the current revision's placement.json; only where one placement is asked for.</summary>
    [JsonPropertyName("placement")]
    [JsonIgnore(Condition = JsonIgnoreCondition.WhenWritingNull)]
    public JsonElement? Content { get; init; }
}

/// <summary>All placements.</summary>
/// <param name="Placements">Newest first.</param>
public sealed record PlacementList(IReadOnlyList<Placement> Placements);
