using AutoPlace.Service.Heads;
using AutoPlace.Service.Placements;
using AutoPlace.Service.Revisions;

namespace AutoPlace.Service.Hosting;

/// <summary>Deletes heads whose retention time is over, with everything that was made of them.</summary>
internal sealed class RetentionSweep(
    ServiceOptions options, HeadStore heads, PlacementStore placements, OpenPlacements open, ILogger<RetentionSweep> log) : BackgroundService
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
            Run(DateTimeOffset.UtcNow - kept);
            await Task.Delay(pause, stoppingToken).ConfigureAwait(ConfigureAwaitOptions.SuppressThrowing);
        }
    }

    private void Run(DateTimeOffset limit)
    {
        foreach (string head in heads.UnusedSince(limit))
        {
            open.Forget(placements.OfHead(head));
            if (heads.Delete(head))
            {
                ServiceLog.Expired(log, head);
            }
        }
    }
}
