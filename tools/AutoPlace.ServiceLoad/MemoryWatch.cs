using System.Diagnostics;

namespace AutoPlace.ServiceLoad;

/// <summary>Looks at a process's memory twice a second.</summary>
internal sealed class MemoryWatch : IDisposable
{
    private readonly Process _process;
    private readonly Stopwatch _clock = Stopwatch.StartNew();
    private readonly Timer _timer;
    private readonly List<(double Seconds, double Megabytes)> _samples = [];

    public MemoryWatch(Process process)
    {
        _process = process;
        _timer = new Timer(_ => Look(), null, TimeSpan.Zero, TimeSpan.FromSeconds(0.5));
    }

    /// <summary>Seconds since the start and megabytes of resident memory.</summary>
    public IReadOnlyList<(double Seconds, double Megabytes)> Samples
    {
        get
        {
            lock (_samples)
            {
                return [.. _samples];
            }
        }
    }

    public void Dispose() => _timer.Dispose();

    private void Look()
    {
        try
        {
            _process.Refresh();
            if (!_process.HasExited)
            {
                lock (_samples)
                {
                    _samples.Add((_clock.Elapsed.TotalSeconds, _process.WorkingSet64 / 1e6));
                }
            }
        }
        catch (InvalidOperationException)
        {
            return; // it ended between two looks
        }
    }
}
