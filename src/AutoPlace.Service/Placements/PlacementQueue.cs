using System.Collections.Concurrent;
using System.Threading.Channels;
using AutoPlace.Service.Hosting;

namespace AutoPlace.Service.Placements;

/// <summary>
/// Placements that wait for a worker. Those that somebody waits for come first and are bounded: one too many is refused
/// before anything is written. Those of bulks are bounded by their bulks alone and fill what is free.
/// </summary>
internal sealed class PlacementQueue(ServiceOptions options) : IDisposable
{
    private readonly Channel<string> _waiting = Channel.CreateUnbounded<string>();
    private readonly ConcurrentQueue<string> _ofBulks = new();
    private readonly SemaphoreSlim _work = new(0);
    private readonly ConcurrentDictionary<string, RunningPlacement> _running = new(StringComparer.Ordinal);
    private readonly ConcurrentDictionary<string, bool> _places = new(StringComparer.Ordinal);
    private int _reserved;

    /// <summary>How many wait, those of bulks apart.</summary>
    public int Length => Volatile.Read(ref _reserved);

    /// <summary>How many of bulks wait.</summary>
    public int BulkLength => _ofBulks.Count;

    /// <summary>How many are being made.</summary>
    public int Running => _running.Count;

    /// <summary>Keeps a place in the queue.</summary>
    /// <exception cref="RequestRefused">It is full.</exception>
    public void Reserve()
    {
        if (Interlocked.Increment(ref _reserved) > options.MostQueued)
        {
            Interlocked.Decrement(ref _reserved);
            throw new RequestRefused(StatusCodes.Status429TooManyRequests, "As many placements wait as may.") { RetryAfter = 2 };
        }
    }

    /// <summary>Gives a place back that wasn't used.</summary>
    public void GiveBack() => Interlocked.Decrement(ref _reserved);

    /// <summary>Puts a placement into its place.</summary>
    public void Add(string placement)
    {
        _places[placement] = true;
        _waiting.Writer.TryWrite(placement);
        _work.Release();
    }

    /// <summary>Puts placements in that waited when the process ended; there is room for them whatever the limit.</summary>
    public void AddAgain(IReadOnlyCollection<string> placements)
    {
        Interlocked.Add(ref _reserved, placements.Count);
        foreach (string placement in placements)
        {
            Add(placement);
        }
    }

    /// <summary>Puts placements of a bulk in.</summary>
    public void AddBulk(IReadOnlyCollection<string> placements)
    {
        foreach (string placement in placements)
        {
            _ofBulks.Enqueue(placement);
        }

        if (placements.Count > 0)
        {
            _work.Release(placements.Count);
        }
    }

    /// <summary>The next placement to make.</summary>
    public async Task<RunningPlacement> NextAsync(CancellationToken cancellation)
    {
        await _work.WaitAsync(cancellation);
        if (_waiting.Reader.TryRead(out string? placement))
        {
            Leave(placement);
        }
        else if (!_ofBulks.TryDequeue(out placement))
        {
            throw new InvalidOperationException("There is work, and no placement.");
        }

        var running = new RunningPlacement(placement, cancellation);
        _running[placement] = running;
        return running;
    }

    /// <summary>Notes that nobody works on a placement any more.</summary>
    public void Done(RunningPlacement placement)
    {
        _running.TryRemove(placement.Id, out _);
        placement.Dispose();
    }

    /// <summary>Stops placements that are being made, and gives the places of those back that wait; a worker passes them over.</summary>
    public void Cancel(IEnumerable<string> placements)
    {
        foreach (string placement in placements)
        {
            Leave(placement);
            _running.GetValueOrDefault(placement)?.Cancel();
        }
    }

    /// <summary>A placement with the stage that is at work on it.</summary>
    public Placement WithStage(Placement placement) => _running.GetValueOrDefault(placement.Id) is { } running && placement.State == PlacementState.Running
        ? placement with { Stage = running.Stage, Fraction = running.Fraction }
        : placement;

    /// <inheritdoc/>
    public void Dispose() => _work.Dispose();

    private void Leave(string placement)
    {
        if (_places.TryRemove(placement, out _))
        {
            GiveBack();
        }
    }
}
