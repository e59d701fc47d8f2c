using System.Numerics;
using AutoPlace.Geometry;

namespace AutoPlace.Registration;

/// <summary>A piece of a head that is as large as a tooth; units of the head.</summary>
internal sealed class Tooth
{
    /// <summary>The diagonal of the box lies between these, interocular distances: eyeballs and gums are larger.</summary>
    private const float LeastDiagonal = 0.1f, MostDiagonal = 0.7f;

    private readonly List<Vector3> _corners = [];
    private readonly List<int> _triangles = [];
    private Vector3 _low = new(float.PositiveInfinity), _high = new(float.NegativeInfinity);
    private Vector3d _moment;
    private double _area;

    private Tooth()
    {
    }

    /// <summary>Its triangles of the mesh.</summary>
    public IReadOnlyList<int> Triangles => _triangles;

    /// <summary>Finds what may be teeth.</summary>
    /// <param name="mesh">A mesh, interocular distances; pieces hang together by their vertices.</param>
    public static IReadOnlyList<Tooth> Of(TriangleMesh mesh)
    {
        var pieces = new DisjointSets(mesh.VertexCount);
        for (int i = 0; i < mesh.Indices.Length; i += 3)
        {
            pieces.Unite(mesh.Indices[i], mesh.Indices[i + 1]);
            pieces.Unite(mesh.Indices[i], mesh.Indices[i + 2]);
        }

        var teeth = new SortedDictionary<int, Tooth>();
        for (int t = 0; t < mesh.TriangleCount; t++)
        {
            int piece = pieces.Least(mesh.Indices[3 * t]);
            if (!teeth.TryGetValue(piece, out Tooth? tooth))
            {
                teeth.Add(piece, tooth = new Tooth());
            }

            tooth.Add(t, mesh.Corners(t));
        }

        return [.. teeth.Values.Where(tooth => (tooth._high - tooth._low).Length() is > LeastDiagonal and < MostDiagonal)];
    }

    /// <summary>Its middle: halfway between the middle of its box and that of its surface, which err apart from each other when a tooth has few triangles.</summary>
    /// <param name="axes">Columns are the unit axes of the box.</param>
    public Vector3d Middle(Matrix3d axes)
    {
        Vector3d low = new(double.PositiveInfinity, double.PositiveInfinity, double.PositiveInfinity), high = -low;
        Matrix3d toBox = axes.Transposed();
        foreach (Vector3 corner in _corners)
        {
            Vector3d p = toBox * (Vector3d)corner;
            low = new(Math.Min(low.X, p.X), Math.Min(low.Y, p.Y), Math.Min(low.Z, p.Z));
            high = new(Math.Max(high.X, p.X), Math.Max(high.Y, p.Y), Math.Max(high.Z, p.Z));
        }

        Vector3d box = axes * ((low + high) * 0.5);
        return _area > 0 ? (box + (_moment / _area)) * 0.5 : box;
    }

    private void Add(int triangle, (Vector3 A, Vector3 B, Vector3 C) corners)
    {
        (Vector3 a, Vector3 b, Vector3 c) = corners;
        _triangles.Add(triangle);
        _corners.AddRange([a, b, c]);
        _low = Vector3.Min(_low, Vector3.Min(a, Vector3.Min(b, c)));
        _high = Vector3.Max(_high, Vector3.Max(a, Vector3.Max(b, c)));
        double area = Vector3d.Cross((Vector3d)b - (Vector3d)a, (Vector3d)c - (Vector3d)a).Length;
        _moment += (Vector3d)(a + b + c) * (area / 3);
        _area += area;
    }
}
