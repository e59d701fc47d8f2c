using AutoPlace.Registration.Correcting;
using AutoPlace.Service.Heads;
using AutoPlace.Service.Placements;
using AutoPlace.Service.Templates;

namespace AutoPlace.Service.Revisions;

/// <summary>A placed head in memory, with the revision that was edited last.</summary>
/// <param name="placed">The head.</param>
internal sealed class OpenPlacement(PlacementResult placed)
{
    /// <summary>The head; which corrections it has doesn't matter.</summary>
    public PlacementResult Placed { get; } = placed;

    /// <summary>The revision edited last and its number; null before the first edit.</summary>
    public (int Number, Revision Revision)? Last { get; set; }
}

/// <summary>
/// The placed heads that are ready for corrections, the ones used last. One that isn't among them is placed again from what
/// is stored: the same head and options give the same placement.
/// </summary>
internal sealed class OpenPlacements(
    ServiceOptions options, HeadStore heads, TemplateStore templates, PlacementPipeline pipeline) : IDisposable
{
    private const int Gates = 64;

    private readonly LinkedList<(string Id, OpenPlacement Open)> _recent = [];
    private readonly Lock _changing = new();
    private readonly SemaphoreSlim _opening = new(1);
    private readonly SemaphoreSlim[] _gates = [.. Enumerable.Range(0, Gates).Select(_ => new SemaphoreSlim(1))];

    /// <summary>Works on a placement while nobody else does.</summary>
    public async Task<T> AloneAsync<T>(string placement, Func<Task<T>> work, CancellationToken cancellation)
    {
        SemaphoreSlim gate = _gates[(uint)string.GetHashCode(placement, StringComparison.Ordinal) % Gates];
        await gate.WaitAsync(cancellation);
        try
        {
            return await work();
        }
        finally
        {
            gate.Release();
        }
    }

    /// <summary>A placement's head; placed again when it isn't open.</summary>
    public async Task<OpenPlacement> GetAsync(Placement placement, CancellationToken cancellation)
    {
        if (Find(placement.Id) is { } known)
        {
            return known;
        }

        await _opening.WaitAsync(cancellation);
        try
        {
            if (Find(placement.Id) is { } opened)
            {
                return opened; // by whoever waited before: a page asks for several views at once
            }

            PlacementOptions wanted = placement.Options.ToOptions() with { Corrections = null, Template = templates.Find(placement.Options.Template) };
            PlacementResult placed = await Task.Run(
                () => pipeline.Run(heads.Scan(heads.Get(placement.HeadId)), wanted, cancellation), cancellation);
            return Keep(placement.Id, placed);
        }
        finally
        {
            _opening.Release();
        }
    }

    /// <summary>Keeps a head open that was just placed.</summary>
    public OpenPlacement Keep(string placement, PlacementResult placed)
    {
        var open = new OpenPlacement(placed);
        lock (_changing)
        {
            Remove(placement);
            _recent.AddFirst((placement, open));
            while (_recent.Count > options.OpenHeads)
            {
                _recent.RemoveLast();
            }
        }

        return open;
    }

    /// <summary>Closes what was deleted.</summary>
    public void Forget(IEnumerable<string> placements)
    {
        lock (_changing)
        {
            foreach (string placement in placements)
            {
                Remove(placement);
            }
        }
    }

    /// <inheritdoc/>
    public void Dispose()
    {
        _opening.Dispose();
        Array.ForEach(_gates, gate => gate.Dispose());
    }

    private OpenPlacement? Find(string placement)
    {
        lock (_changing)
        {
            OpenPlacement? found = Remove(placement);
            if (found is not null)
            {
                _recent.AddFirst((placement, found));
            }

            return found;
        }
    }

    private OpenPlacement? Remove(string placement)
    {
        for (LinkedListNode<(string Id, OpenPlacement Open)>? node = _recent.First; node is not null; node = node.Next)
        {
            if (node.Value.Id == placement)
            {
                _recent.Remove(node);
                return node.Value.Open;
            }
        }

        return null;
    }
}
