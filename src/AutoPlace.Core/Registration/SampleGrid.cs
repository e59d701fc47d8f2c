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
    // Cubes lie within this distance of the atlas's origin on each axis; what lies beyond counts to the outermost ones.
    private const double Extent = 4;

    private readonly IReadOnlyList<Correspondence> _samples;
    private readonly double _cell;
    private readonly int _side;
    private readonly int[] _starts, _members;

    /// <summary>Sorts the samples.</summary>
    /// <param name="samples">The correspondences.</param>
    /// <param name="cell">Side of a cube, interocular distances.</param>
    public SampleGrid(IReadOnlyList<Correspondence> samples, double cell)
    {
        _samples = samples;
        _cell = cell;
        _side = (int)Math.Ceiling(2 * Extent / cell);
        int[] cubes = new int[samples.Count];
        _starts = new int[(_side * _side * _side) + 1];
        for (int i = 0; i < cubes.Length; i++)
        {
            Vector3d p = samples[i].Atlas;
            cubes[i] = Cube(Along(p.X), Along(p.Y), Along(p.Z));
            _starts[cubes[i] + 1]++;
        }

        for (int cube = 1; cube < _starts.Length; cube++)
        {
            _starts[cube] += _starts[cube - 1];
        }

        int[] next = _starts.AsSpan(0, _starts.Length - 1).ToArray();
        _members = new int[cubes.Length];
        for (int i = 0; i < cubes.Length; i++)
        {
            _members[next[cubes[i]]++] = i;
        }
    }

    /// <summary>Fills the list with the nearest samples within reach.</summary>
    public void Nearest(Vector3d point, double reach, NeighbourList result)
    {
        result.Clear();
        (int lowX, int highX) = (Along(point.X - reach), Along(point.X + reach));
        (int lowY, int highY) = (Along(point.Y - reach), Along(point.Y + reach));
        (int lowZ, int highZ) = (Along(point.Z - reach), Along(point.Z + reach));
        for (int x = lowX; x <= highX; x++)
        {
            for (int y = lowY; y <= highY; y++)
            {
                // Cubes that follow each other along z lie together.
                foreach (int i in _members.AsSpan(_starts[Cube(x, y, lowZ)].._starts[Cube(x, y, highZ) + 1]))
                {
                    double squared = (_samples[i].Atlas - point).LengthSquared;
                    if (squared <= reach * reach)
                    {
                        result.Offer(squared, i);
                    }
                }
            }
        }
    }

    private int Along(double coordinate) => (int)Math.Clamp(Math.Floor((coordinate + Extent) / _cell), 0, _side - 1);

    private int Cube(int x, int y, int z) => (((x * _side) + y) * _side) + z;
}
