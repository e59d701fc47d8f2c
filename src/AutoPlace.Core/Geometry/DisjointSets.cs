namespace AutoPlace.Geometry;

/// <summary>Sets of the numbers below a count that are united step by step (union-find with path halving; Tarjan and van Leeuwen 1984, from memory).</summary>
/// <param name="count">How many numbers; each begins alone.</param>
internal sealed class DisjointSets(int count)
{
    private readonly int[] _parents = [.. Enumerable.Range(0, count)];

    /// <summary>The least number of the set that a number is in.</summary>
    public int Least(int of)
    {
        while (_parents[of] != of)
        {
            _parents[of] = _parents[_parents[of]];
            of = _parents[of];
        }

        return of;
    }

    /// <summary>Makes one set of those of two numbers.</summary>
    public void Unite(int a, int b)
    {
        (int leastA, int leastB) = (Least(a), Least(b));
        _parents[Math.Max(leastA, leastB)] = Math.Min(leastA, leastB);
    }
}
