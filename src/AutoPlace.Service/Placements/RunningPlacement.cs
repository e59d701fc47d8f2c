namespace AutoPlace.Service.Placements;

/// <summary>A placement that a worker has.</summary>
internal sealed class RunningPlacement : IDisposable
{
    // Where a stage begins, as a share of the time of a demonstration head with everything loaded.
    private static readonly Dictionary<string, double> Begins = new(StringComparer.Ordinal)
    {
        ["Import"] = 0,
        ["Geometry"] = 0.03,
        ["Conditioning"] = 0.05,
        ["Landmarks"] = 0.3,
        ["Template"] = 0.6,
        ["Registration"] = 0.65,
        ["Verification"] = 0.9,
        ["Export"] = 0.95,
    };

    private readonly CancellationTokenSource _stop;
    private readonly Lock _disposing = new();
    private bool _disposed;

    /// <summary>Makes it.</summary>
    /// <param name="id">The placement.</param>
    /// <param name="stopping">Set when the process ends.</param>
    public RunningPlacement(string id, CancellationToken stopping)
    {
        Id = id;
        _stop = CancellationTokenSource.CreateLinkedTokenSource(stopping);
        Stopped = _stop.Token;
    }

    /// <summary>The placement.</summary>
    public string Id { get; }

    /// <summary>Set when it was deleted or the process ends.</summary>
    public CancellationToken Stopped { get; }

    /// <summary>The stage at work.</summary>
    public string? Stage { get; private set; }

    /// <summary>About how much is done; never falls.</summary>
    public double Fraction { get; private set; }

    /// <summary>Notes that a stage begins.</summary>
    public void Enter(string stage)
    {
        Stage = stage;
        Fraction = Math.Max(Fraction, Begins.GetValueOrDefault(stage));
    }

    /// <summary>Stops it.</summary>
    public void Cancel()
    {
        lock (_disposing)
        {
            if (!_disposed)
            {
                _stop.Cancel();
            }
        }
    }

    /// <inheritdoc/>
    public void Dispose()
    {
        lock (_disposing)
        {
            _disposed = true;
            _stop.Dispose();
        }
    }
}
