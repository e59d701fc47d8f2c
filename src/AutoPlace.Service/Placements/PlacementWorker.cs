using System.Diagnostics;
using AutoPlace.Import;
using AutoPlace.Service.Heads;
using AutoPlace.Service.Hosting;
using AutoPlace.Service.Revisions;
using AutoPlace.Service.Templates;
using AutoPlace.Verification;
using Microsoft.Data.Sqlite;

namespace AutoPlace.Service.Placements;

/// <summary>Makes the placements that wait, one or two at a time.</summary>
internal sealed class PlacementWorker(
    ServiceOptions options,
    PlacementPipeline pipeline,
    HeadStore heads,
    TemplateStore templates,
    PlacementStore placements,
    RevisionStore revisions,
    PlacementQueue queue,
    PlacementEvents events,
    OpenPlacements open,
    ServiceMetrics metrics,
    ILogger<PlacementWorker> log) : BackgroundService
{
    /// <summary>Pause after which a placement is taken up again whose outcome couldn't be written.</summary>
    private static readonly TimeSpan PauseForRoom = TimeSpan.FromSeconds(2);

    private static readonly ActivitySource Spans = new("AutoPlace");

    /// <inheritdoc/>
    protected override Task ExecuteAsync(CancellationToken stoppingToken) =>
        Task.WhenAll(Enumerable.Range(0, options.Workers).Select(_ => Task.Run(() => Work(stoppingToken), stoppingToken)));

    private async Task Work(CancellationToken stopping)
    {
        while (!stopping.IsCancellationRequested)
        {
            RunningPlacement running;
            try
            {
                running = await queue.NextAsync(stopping);
            }
            catch (OperationCanceledException)
            {
                return;
            }

            try
            {
                Attempt(running, stopping);
            }
            catch (Exception e)
            {
                ServiceLog.PlacementBroke(log, e, running.Id); // the disk is full, say
                _ = AgainAsync(running.Id, stopping);
            }
            finally
            {
                queue.Done(running);
            }
        }
    }

    // Puts a placement back into the queue as soon as that can be written; what is deleted meanwhile is passed over there.
    private async Task AgainAsync(string placement, CancellationToken stopping)
    {
        while (true)
        {
            await Task.Delay(PauseForRoom, stopping);
            try
            {
                placements.PutBack(placement);
                Action<IReadOnlyCollection<string>> add = placements.Find(placement)?.BulkId is null ? queue.AddAgain : queue.AddBulk;
                add([placement]);
                return;
            }
            catch (SqliteException)
            {
                continue;
            }
        }
    }

    private void Attempt(RunningPlacement running, CancellationToken stopping)
    {
        if (placements.Begin(running.Id) is not { } placement)
        {
            return; // deleted while it waited
        }

        long begin = Stopwatch.GetTimestamp();
        try
        {
            Enter(running, "Import");
            events.Tell(running.Id, "state", queue.WithStage(placement));
            if (!Make(running, placement, begin))
            {
                return;
            }

            Ended(running.Id, "placed", begin);
        }
        catch (OperationCanceledException) when (running.Stopped.IsCancellationRequested)
        {
            if (stopping.IsCancellationRequested)
            {
                placements.PutBack(running.Id);
            }
        }
        catch (Exception e)
        {
            if (e is not PlacementException)
            {
                ServiceLog.PlacementBroke(log, e, running.Id);
            }

            placements.Fail(running.Id, e, PlacementStore.NoOutcome.With(e) with { Seconds = Seconds(begin) });
            Ended(running.Id, "failed", begin);
        }
    }

    // False when it was deleted meanwhile.
    private bool Make(RunningPlacement running, Placement placement, long begin)
    {
        using Activity? span = Spans.StartActivity("Placement");
        PlacementOptions wanted = placement.Options.ToOptions() with
        {
            Template = templates.Find(placement.Options.Template),
            OnStage = stage => Enter(running, stage),
        };
        HeadScan scan;
        using (Spans.StartActivity("Import"))
        {
            scan = heads.Scan(heads.Get(placement.HeadId));
        }

        PlacementResult placed = pipeline.Run(scan, wanted, running.Stopped);
        Enter(running, "Export");
        using Activity? export = Spans.StartActivity("Export");
        RevisionContent content = RevisionContent.Kept(placed, running.Stopped);
        running.Stopped.ThrowIfCancellationRequested();
        var first = new NewRevision
        {
            Edits = "[]",
            Corrections = content.Corrections,
            Placement = content.Placement,
            SolveMs = placed.Timings.Where(t => t.Stage is "Registration" or "Verification").Sum(t => t.Milliseconds),
        };
        bool stored = revisions.Complete(running.Id, first, PlacementStore.NoOutcome.With(content.Document) with { Seconds = Seconds(begin) });
        if (!stored)
        {
            return false;
        }

        if (placement.BulkId is null)
        {
            open.Keep(running.Id, content.Result);
        }

        metrics.Staged(placed.Timings);
        foreach (Finding finding in content.Document.Findings)
        {
            events.Tell(running.Id, "finding", new { finding.Check, finding.Severity, finding.Subject, finding.Value, finding.Limit, finding.Unit, finding.Message });
        }

        return true;
    }

    private static double Seconds(long begin) => Math.Round(Stopwatch.GetElapsedTime(begin).TotalSeconds, 2);

    private void Enter(RunningPlacement running, string stage)
    {
        if (running.Stage != stage)
        {
            running.Enter(stage);
            events.Tell(running.Id, "stage", new { stage, fraction = running.Fraction });
        }
    }

    private void Ended(string id, string state, long begin)
    {
        TimeSpan took = Stopwatch.GetElapsedTime(begin);
        metrics.Ended(state, took);
        ServiceLog.PlacementEnded(log, id, state, took.TotalMilliseconds);
        if (placements.Find(id) is { } now)
        {
            events.Tell(id, "state", now);
        }
    }
}
