using AutoPlace.Geometry;
using AutoPlace.Landmarks;

namespace AutoPlace.Registration;

/// <summary>The nearest few of a set of points, by distance and then by coordinates, so that the order of the set doesn't matter.</summary>
/// <param name="most">How many are kept.</param>
internal sealed class NeighbourList(int most)
{
    private readonly (double DistanceSquared, int Index)[] _items = new (double, int)[most];

    /// <summary>How many there are.</summary>
    public int Count { get; private set; }

    /// <summary>Index of the k-th nearest.</summary>
    public int Index(int k) => _items[k].Index;

    /// <summary>Forgets all.</summary>
    public void Clear() => Count = 0;

    /// <summary>Keeps the point if it's among the nearest.</summary>
    public void Offer(double distanceSquared, int index)
    {
        if (Count == _items.Length && distanceSquared >= _items[^1].DistanceSquared)
        {
            return;
        }

        int at = Count == _items.Length ? Count - 1 : Count++;
        while (at > 0 && _items[at - 1].DistanceSquared > distanceSquared)
        {
            _items[at] = _items[at - 1];
            at--;
        }

        _items[at] = (distanceSquared, index);
    }
}

/// <summary>Correspondences sorted into cubes of the atlas, for finding those around a point.</summary>
internal sealed class SampleGrid
{
    private readonly IReadOnlyList<Correspondence> _samples;
    private readonly Dictionary<(int, int, int), List<int>> _cells = [];
    private readonly double _cell;

    /// <summary>Sorts the samples.</summary>
    /// <param name="samples">The correspondences.</param>
    /// <param name="cell">Side of a cube, interocular distances.</param>
    public SampleGrid(IReadOnlyList<Correspondence> samples, double cell)
    {
        _samples = samples;
        _cell = cell;
        for (int i = 0; i < samples.Count; i++)
        {
            (int, int, int) key = Cell(samples[i].Atlas);
            if (!_cells.TryGetValue(key, out List<int>? list))
            {
                _cells.Add(key, list = []);
            }

            list.Add(i);
        }
    }

    /// <summary>Fills the list with the nearest samples within reach.</summary>
    public void Nearest(Vector3d point, double reach, NeighbourList result)
    {
        result.Clear();
        (int cx, int cy, int cz) = Cell(point);
        int rings = (int)Math.Ceiling(reach / _cell);
        for (int x = cx - rings; x <= cx + rings; x++)
        {
            for (int y = cy - rings; y <= cy + rings; y++)
            {
                for (int z = cz - rings; z <= cz + rings; z++)
                {
                    if (_cells.TryGetValue((x, y, z), out List<int>? list))
                    {
                        Offer(point, reach, list, result);
                    }
                }
            }
        }
    }

    private void Offer(Vector3d point, double reach, List<int> list, NeighbourList result)
    {
        foreach (int i in list)
        {
            double d2 = (_samples[i].Atlas - point).LengthSquared;
            if (d2 <= reach * reach)
            {
                result.Offer(d2, i);
            }
        }
    }

    private (int X, int Y, int Z) Cell(Vector3d p) =>
        ((int)Math.Floor(p.X / _cell), (int)Math.Floor(p.Y / _cell), (int)Math.Floor(p.Z / _cell));
}
