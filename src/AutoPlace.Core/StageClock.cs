using System.Diagnostics;

namespace AutoPlace;

/// <summary>Measures the stages of one run, announces them, and opens a trace span for each.</summary>
internal sealed class StageClock(Action<string>? announce, CancellationToken cancellation)
{
    private static readonly ActivitySource Spans = new("AutoPlace");

    private readonly List<StageTiming> _timings = [];

    /// <summary>Time of each stage so far, in the order in which they began; a stage run in parts counts once.</summary>
    public IReadOnlyList<StageTiming> Timings => _timings;

    /// <summary>Runs a stage or a part of one.</summary>
    public T Time<T>(string stage, Func<T> work)
    {
        cancellation.ThrowIfCancellationRequested();
        announce?.Invoke(stage);
        using Activity? span = Spans.StartActivity(stage);
        long begin = Stopwatch.GetTimestamp();
        T result = work();
        double ms = Stopwatch.GetElapsedTime(begin).TotalMilliseconds;
        int known = _timings.FindIndex(t => t.Stage == stage);
        if (known >= 0)
        {
            _timings[known] = new StageTiming(stage, _timings[known].Milliseconds + ms);
        }
        else
        {
            _timings.Add(new StageTiming(stage, ms));
        }

        return result;
    }
}
