using System.Diagnostics;
using AutoPlace.Registration.Correcting;
using AutoPlace.Service.Hosting;
using AutoPlace.Service.Placements;

namespace AutoPlace.Service.Revisions;

/// <summary>Makes revisions: applies edits to the current one, solves, checks, stores.</summary>
internal sealed class RevisionMaker(
    PlacementStore placements, RevisionStore revisions, OpenPlacements open, PlacementEvents events, ServiceMetrics metrics, ILogger<RevisionMaker> log)
{
    /// <summary>Most edits in one revision.</summary>
    private const int MostEdits = 1000;

    /// <summary>Edits the current revision.</summary>
    /// <exception cref="RequestRefused">Another revision is the current one, or the edits aren't any.</exception>
    /// <exception cref="CorrectionException">An edit can't be made; none was.</exception>
    public Task<StoredRevision> EditAsync(string id, RevisionRequest request, CancellationToken cancellation)
    {
        if (request.Edits.Count is 0 or > MostEdits)
        {
            throw RequestRefused.Unusable("edits", $"one to {MostEdits} edits make a revision");
        }

        if (request.Note?.Length > RevisionRequest.MostNoteLength)
        {
            throw RequestRefused.Unusable("note", $"has more than {RevisionRequest.MostNoteLength} characters");
        }

        return MakeAsync(
            id,
            request.Base,
            request.Edits is [RestoreRequest restore] ? at => Task.FromResult<(NewRevision, Action)>((Restored(at, restore, request.Note), () => { })) : at => EditedAsync(at, request, cancellation),
            cancellation);
    }

    /// <summary>Takes over what was corrected elsewhere, in place of all that was corrected before.</summary>
    /// <param name="id">The placement.</param>
    /// <param name="number">The revision that was looked at; must be the current one.</param>
    /// <param name="kept">Options with the corrections or the corrected placement.</param>
    /// <param name="cancellation">Stops it.</param>
    public Task<StoredRevision> ImportAsync(string id, int number, PlacementOptions kept, CancellationToken cancellation) => MakeAsync(
        id,
        number,
        async at =>
        {
            OpenPlacement opened = await open.GetAsync(at, cancellation);
            return Solved(
                opened,
                new RevisionRequest(number, []),
                """[{"kind":"import"}]""",
                () => RevisionContent.Kept(CorrectedPlacement.Keeping(opened.Placed, kept, cancellation), cancellation));
        },
        cancellation);

    private Task<StoredRevision> MakeAsync(string id, int number, Func<Placement, Task<(NewRevision New, Action Stored)>> make, CancellationToken cancellation) => open.AloneAsync(
        id,
        async () =>
        {
            Placement at = placements.Get(id);
            if (at.Revision is null)
            {
                throw new RequestRefused(StatusCodes.Status409Conflict, "The placement isn't made yet.");
            }

            if (at.Revision != number)
            {
                throw RevisionStore.Stale(at.Revision);
            }

            (NewRevision revision, Action stored) = await make(at);
            StoredRevision made = revisions.Add(id, revision);
            stored();
            metrics.Revised(made.Revision.SolveMs);
            ServiceLog.Revised(log, id, made.Revision.Number, made.Revision.SolveMs);
            events.Tell(id, "revision", new { number = made.Revision.Number });
            return made;
        },
        cancellation);

    private async Task<(NewRevision New, Action Stored)> EditedAsync(Placement at, RevisionRequest request, CancellationToken cancellation)
    {
        OpenPlacement opened = await open.GetAsync(at, cancellation);
        PlacementResult placed = opened.Placed;
        Revision current = opened.Last is { } last && last.Number == request.Base
            ? last.Revision
            : Revision.First(placed.Correctable!, RevisionContent.Read(revisions.Get(at.Id, request.Base).Corrections, placed));
        var translation = new EditTranslation(placed.Scan, placed.Frame, request.Note);
        return Solved(opened, request, ServiceJson.Write(request.Edits), () => RevisionContent.Solve(
            placed, request.Edits.Aggregate(current, translation.Apply).Corrections, cancellation));
    }

    // The stored placement is what that revision was, to the last digit: there is nothing to solve.
    private NewRevision Restored(Placement at, RestoreRequest restore, string? note)
    {
        StoredRevision old = revisions.Get(at.Id, restore.Revision);
        return new NewRevision
        {
            Base = at.Revision,
            Note = note,
            Restores = restore.Revision,
            Edits = ServiceJson.Write<IReadOnlyList<EditRequest>>([restore]),
            Corrections = old.Corrections,
            Placement = revisions.Placement(old),
            SolveMs = 0,
        };
    }

    // What is kept in memory may be newer than what is stored in no case.
    private static (NewRevision New, Action Stored) Solved(OpenPlacement opened, RevisionRequest request, string edits, Func<RevisionContent> solve)
    {
        long begin = Stopwatch.GetTimestamp();
        RevisionContent content = solve();
        var made = new NewRevision
        {
            Base = request.Base,
            Note = request.Note,
            Edits = edits,
            Corrections = content.Corrections,
            Placement = content.Placement,
            SolveMs = Stopwatch.GetElapsedTime(begin).TotalMilliseconds,
        };
        return (made, () => opened.Last = (request.Base + 1, Revision.First(content.Result.Correctable!, content.Result.Corrections)));
    }
}
