using AutoPlace.Geometry;
using AutoPlace.Landmarks;

namespace AutoPlace.Registration;

/// <summary>Samples near a point, and which of them are the nearest.</summary>
internal sealed class NeighbourList
{
    private Item[] _items = new Item[1024];
    private int[] _indices = [];

    /// <summary>How many there are.</summary>
    public int Count { get; private set; }

    /// <summary>Indices of those that were kept, in the samples' order.</summary>
    public ReadOnlySpan<int> Kept => _indices.AsSpan(0, Count);

    /// <summary>Forgets all.</summary>
    public void Clear() => Count = 0;

    /// <summary>Adds a sample.</summary>
    public void Add(double distanceSquared, int index)
    {
        if (Count == _items.Length)
        {
            Array.Resize(ref _items, 2 * Count);
        }

        _items[Count++] = new Item(distanceSquared, index);
    }

    /// <summary>Keeps the nearest, of equally near ones those that come first among the samples, in the samples' order.</summary>
    /// <param name="most">How many.</param>
    public void KeepNearest(int most)
    {
        if (Count > most)
        {
            MoveNearestToFront(most);
            Count = most;
        }

        if (_indices.Length < Count)
        {
            _indices = new int[Count];
        }

        for (int k = 0; k < Count; k++)
        {
            _indices[k] = _items[k].Index;
        }

        _indices.AsSpan(0, Count).Sort();
    }

    // Hoare's selection (1961, "Algorithm 65: Find"), with the middle element as pivot.
    private void MoveNearestToFront(int most)
    {
        (int low, int high) = (0, Count - 1);
        while (low < high)
        {
            Item pivot = _items[(low + high) / 2];
            (int i, int j) = (low, high);
            while (i <= j)
            {
                while (_items[i].IsBefore(pivot))
                {
                    i++;
                }

                while (pivot.IsBefore(_items[j]))
                {
                    j--;
                }

                if (i <= j)
                {
                    (_items[i], _items[j]) = (_items[j], _items[i]);
                    i++;
                    j--;
                }
            }

            if (most - 1 <= j)
            {
                high = j;
            }
            else if (most - 1 >= i)
            {
                low = i;
            }
            else
            {
                return;
            }
        }
    }

    private readonly record struct Item(double DistanceSquared, int Index)
    {
        public bool IsBefore(in Item other) =>
            DistanceSquared < other.DistanceSquared || (DistanceSquared == other.DistanceSquared && Index < other.Index);
    }
}

/// <summary>Correspondences sorted into cubes of the atlas, for finding those around a point.</summary>
internal sealed class SampleGrid
{
    // Cubes lie within this distance of the atlas's origin on each axis; what lies beyond counts to the outermost ones.
    private const double Extent = 4;

    private readonly double _cell;
    private readonly int _side;
    private readonly int[] _starts, _members;
    private readonly Vector3d[] _points;

    /// <summary>Sorts the samples.</summary>
    /// <param name="samples">The correspondences.</param>
    /// <param name="cell">Side of a cube, interocular distances.</param>
    public SampleGrid(IReadOnlyList<Correspondence> samples, double cell)
    {
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
        _points = new Vector3d[cubes.Length];
        for (int i = 0; i < cubes.Length; i++)
        {
            int at = next[cubes[i]]++;
            (_members[at], _points[at]) = (i, samples[i].Atlas);
        }
    }

    /// <summary>Fills the list with the nearest samples within reach.</summary>
    /// <param name="point">Atlas point.</param>
    /// <param name="reach">Reach, interocular distances.</param>
    /// <param name="most">Most of them.</param>
    /// <param name="result">Receives them.</param>
    public void Nearest(Vector3d point, double reach, int most, NeighbourList result)
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
                int end = _starts[Cube(x, y, highZ) + 1];
                for (int i = _starts[Cube(x, y, lowZ)]; i < end; i++)
                {
                    double squared = (_points[i] - point).LengthSquared;
                    if (squared <= reach * reach)
                    {
                        result.Add(squared, _members[i]);
                    }
                }
            }
        }

        result.KeepNearest(most);
    }

    private int Along(double coordinate) => (int)Math.Clamp(Math.Floor((coordinate + Extent) / _cell), 0, _side - 1);

    private int Cube(int x, int y, int z) => (((x * _side) + y) * _side) + z;
}
