using System.Diagnostics.Metrics;

namespace AutoPlace.Service.Hosting;

/// <summary>What the service counts and measures, under the meter "AutoPlace".</summary>
internal sealed class ServiceMetrics : IDisposable
{
    /// <summary>Name of the meter.</summary>
    public const string MeterName = "AutoPlace";

    private readonly Meter _meter = new(MeterName);
    private readonly Counter<long> _uploads;
    private readonly Counter<long> _placements;
    private readonly Counter<long> _revisions;
    private readonly Histogram<double> _placing;
    private readonly Histogram<double> _solving;
    private readonly Histogram<double> _stages;

    public ServiceMetrics()
    {
        _uploads = _meter.CreateCounter<long>("autoplace.uploads", null, "Heads that were sent, kept or refused.");
        _placements = _meter.CreateCounter<long>("autoplace.placements", null, "Placements that ended, placed or failed.");
        _revisions = _meter.CreateCounter<long>("autoplace.revisions", null, "Revisions that were stored.");
        _placing = _meter.CreateHistogram<double>("autoplace.placement.duration", "s", "Time from a placement's turn to its end.");
        _solving = _meter.CreateHistogram<double>("autoplace.revision.duration", "s", "Time to solve and check a revision.");
        _stages = _meter.CreateHistogram<double>("autoplace.stage.duration", "s", "Time of each stage.");
    }

    /// <summary>The meter, for gauges of others.</summary>
    public Meter Meter => _meter;

    /// <summary>A head was sent.</summary>
    public void Uploaded(bool kept) => _uploads.Add(1, Tag("result", kept ? "kept" : "refused"));

    /// <summary>A placement ended.</summary>
    public void Ended(string state, TimeSpan took)
    {
        _placements.Add(1, Tag("state", state));
        _placing.Record(took.TotalSeconds, Tag("state", state));
    }

    /// <summary>A placement's stages took their time.</summary>
    public void Staged(IReadOnlyList<StageTiming> timings)
    {
        foreach (StageTiming timing in timings)
        {
            _stages.Record(timing.Milliseconds / 1000, Tag("stage", timing.Stage));
        }
    }

    /// <summary>A revision was stored.</summary>
    public void Revised(double solveMs)
    {
        _revisions.Add(1);
        _solving.Record(solveMs / 1000);
    }

    /// <inheritdoc/>
    public void Dispose() => _meter.Dispose();

    private static KeyValuePair<string, object?> Tag(string name, string value) => new(name, value);
}
