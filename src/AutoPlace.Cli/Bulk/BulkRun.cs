using System.Collections.Concurrent;
using System.Diagnostics;
using System.Globalization;
using System.Runtime.ExceptionServices;
using AutoPlace.Export;
using AutoPlace.Import;

namespace AutoPlace.Cli.Bulk;

/// <summary>Places many heads with one pipeline, as many at once as there are cores, and holds no more than those.</summary>
/// <param name="session">The call.</param>
/// <param name="options">How to place each head.</param>
/// <param name="output">Folder that gets a folder for each head.</param>
/// <param name="madeWith">Program and options in words; what was made with others is made again.</param>
internal sealed class BulkRun(CommandSession session, PlacementOptions options, string output, string madeWith)
{
    private readonly Lock _progress = new();

    /// <summary>The folder of a head.</summary>
    internal static string FolderOf(string output, BulkHead head) => Path.Combine(output, "heads", head.Name);

    /// <summary>Places the heads.</summary>
    /// <param name="heads">The heads.</param>
    /// <param name="resume">True to keep what an earlier run has finished.</param>
    /// <returns>An outcome for each head, in their order.</returns>
    /// <exception cref="OutputException">Something can't be written.</exception>
    /// <exception cref="OperationCanceledException">The user interrupted; what was finished stays.</exception>
    internal BulkOutcome[] Place(IReadOnlyList<BulkHead> heads, bool resume)
    {
        OutputFolder.RemoveAbandoned(output);
        var outcomes = new BulkOutcome?[heads.Count];
        string[] hashes = new string[heads.Count];
        int kept = 0;
        for (int i = 0; i < heads.Count; i++)
        {
            session.Cancellation.ThrowIfCancellationRequested();
            hashes[i] = HashOf(heads[i].Path);
            outcomes[i] = resume ? BulkOutcome.Known(FolderOf(output, heads[i]), hashes[i], madeWith) : null;
            kept += outcomes[i] is null ? 0 : 1;
        }

        if (resume)
        {
            session.Error.WriteLine($"{kept} of {heads.Count} heads are done already");
        }

        int[] left = [.. Enumerable.Range(0, heads.Count).Where(i => outcomes[i] is null)];
        var clock = Stopwatch.StartNew();
        int done = 0;
        if (left.Length > 0)
        {
            session.OpenPipeline();
        }

        var parallel = new ParallelOptions { MaxDegreeOfParallelism = Environment.ProcessorCount, CancellationToken = session.Cancellation };
        try
        {
            // One head after the other to whoever is free: in file order, so that a run's progress can be followed.
            Parallel.ForEach(Partitioner.Create(left, EnumerablePartitionerOptions.NoBuffering), parallel, i =>
            {
                outcomes[i] = Place(heads[i], hashes[i]);
                Report(heads[i], outcomes[i]!, Interlocked.Increment(ref done), left.Length, clock.Elapsed);
            });
        }
        catch (OperationCanceledException)
        {
            session.Error.WriteLine("what is finished is kept; the same call with --resume does the rest");
            throw;
        }
        catch (AggregateException e)
        {
            ExceptionDispatchInfo.Throw(e.InnerExceptions[0]);
        }

        return outcomes!;
    }

    private BulkOutcome Place(BulkHead head, string sha256)
    {
        var clock = Stopwatch.StartNew();
        string folder = FolderOf(output, head);
        OutputFolder.RemoveAbandoned(folder);
        BulkOutcome.Remove(folder, BulkOutcome.FileName); // from here on the folder is unfinished
        HeadOutcome outcome = new BulkOutcome
        {
            Source = head.Path,
            Sha256 = sha256,
            MadeWith = madeWith,
            State = HeadEnding.Unreadable,
            NeedsPerson = 1,
            Reasons = [],
            Seconds = 0,
        };
        try
        {
            PlacementResult result = session.Place(head.Path, options);
            PlacementDocument document = FileCoordinates.Describe(result);
            PlacementFiles.Write(folder, head.Path, result, document, session.Cancellation, PictureOptions.Strip);
            outcome = outcome.With(document);
        }
        catch (Exception e) when (e is not OutputException && !session.Cancellation.IsCancellationRequested)
        {
            // One head ends here, not the run: even a fault of the program is told as that head's outcome.
            // What an earlier version of the head got is no placement of this one.
            BulkOutcome.Remove(folder, PlacementFiles.OfEveryPlacement);
            outcome = outcome.With(e);
        }

        var ended = (BulkOutcome)(outcome with { Seconds = Math.Round(clock.Elapsed.TotalSeconds, 2) });
        ended.Write(folder);
        return ended;
    }

    private void Report(BulkHead head, BulkOutcome outcome, int done, int all, TimeSpan elapsed)
    {
        TimeSpan left = elapsed / done * (all - done);
        lock (_progress)
        {
            session.Error.WriteLine(
                $"{done} of {all}  {head.Name}: {outcome.Ending}" + (done < all ? string.Create(CultureInfo.InvariantCulture, $"; about {left:h\\:mm\\:ss} left") : ""));
        }
    }

    // Empty when it can't be read: placing it says why.
    private static string HashOf(string path)
    {
        try
        {
            return MeshFileHash.Of(path);
        }
        catch (Exception e) when (e is IOException or UnauthorizedAccessException or MeshFormatException)
        {
            return string.Empty;
        }
    }
}
