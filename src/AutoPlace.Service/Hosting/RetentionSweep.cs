using AutoPlace.Service.Heads;
using AutoPlace.Service.Placements;
using Microsoft.Data.Sqlite;

namespace AutoPlace.Service.Hosting;

/// <summary>Deletes heads whose retention time is over, with everything that was made of them.</summary>
internal sealed class RetentionSweep(
    ServiceOptions options, HeadStore heads, PlacementRemoval removal, ILogger<RetentionSweep> log) : BackgroundService
{
    private static readonly TimeSpan LongestPause = TimeSpan.FromHours(1);

    /// <inheritdoc/>
    protected override async Task ExecuteAsync(CancellationToken stoppingToken)
    {
        if (options.Retention is not { } kept)
        {
            return;
        }

        TimeSpan pause = kept / 10 < LongestPause ? kept / 10 : LongestPause;
        while (!stoppingToken.IsCancellationRequested)
        {
            try
            {
                Run(DateTimeOffset.UtcNow - kept);
            }
            catch (Exception e) when (e is SqliteException or IOException or UnauthorizedAccessException)
            {
                ServiceLog.SweepFailed(log, e); // the disk is full, say, or a file is being read
            }

            await Task.Delay(pause, stoppingToken).ConfigureAwait(ConfigureAwaitOptions.SuppressThrowing);
        }
    }

    private void Run(DateTimeOffset limit)
    {
        foreach (string head in heads.UnusedSince(limit))
        {
            if (heads.Delete(head, unusedSince: limit) is { } deleted) // it may have been used meanwhile
            {
                removal.Finish(deleted);
                ServiceLog.Expired(log, head);
            }
        }
    }
}
