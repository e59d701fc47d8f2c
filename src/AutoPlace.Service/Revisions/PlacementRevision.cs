using System.ComponentModel.DataAnnotations;
using System.Text.Json;

namespace AutoPlace.Service.Revisions;

/// <summary>A placement after one edit; never overwritten.</summary>
public sealed record PlacementRevision
{
    /// <summary>Its number; the first is 1, what the program placed.</summary>
    public required int Number { get; init; }

    /// <summary>The revision that was edited; null for the first.</summary>
    public int? Base { get; init; }

    /// <summary>When it was made.</summary>
    public required DateTimeOffset CreatedAt { get; init; }

    /// <summary>Name that somebody gave it.</summary>
    public string? Name { get; init; }

    /// <summary>Who, when, why: free text.</summary>
    public string? Note { get; init; }

    /// <summary>The revision whose corrections it has again; null when it has its own.</summary>
    public int? Restores { get; init; }

    /// <summary>What was done to its base.</summary>
    public required JsonElement Edits { get; init; }

    /// <summary>All corrections that hold, as in corrections.json; left out in lists.</summary>
    public JsonElement? Corrections { get; init; }

    /// <summary>Time that solving and checking took, milliseconds.</summary>
    public required double SolveMs { get; init; }
}

/// <summary>A revision with its placement.</summary>
/// <param name="Revision">The revision.</param>
/// <param name="Placement">Contents of its placement.json.</param>
public sealed record RevisionAnswer(PlacementRevision Revision, JsonElement Placement);

/// <summary>All revisions of a placement.</summary>
/// <param name="Current">Number of the current one.</param>
/// <param name="Revisions">Oldest first, without corrections.</param>
public sealed record RevisionList(int Current, IReadOnlyList<PlacementRevision> Revisions);

/// <summary>Edits on a revision.</summary>
/// <param name="Base">The revision that was looked at while editing; must be the current one.</param>
/// <param name="Edits">What to do, in this order; all of it or nothing.</param>
/// <param name="Note">Who, when, why: free text.</param>
public sealed record RevisionRequest(int Base, IReadOnlyList<EditRequest> Edits, [property: MaxLength(RevisionRequest.MostNoteLength)] string? Note = null)
{
    /// <summary>Longest note.</summary>
    public const int MostNoteLength = 2000;
}

/// <summary>A name for a revision.</summary>
/// <param name="Name">The name; null takes it away.</param>
public sealed record RevisionName(string? Name);
