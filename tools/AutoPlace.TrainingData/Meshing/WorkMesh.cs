using System.Numerics;
using AutoPlace.Landmarks;

namespace AutoPlace.TrainingData.Meshing;

/// <summary>
/// The head under construction: vertices with atlas points, triangles with class and material. It grows, and is
/// reused from head to head. Frame and unit are those of the head that is being built (centimetres).
/// </summary>
internal sealed class WorkMesh
{
    private Vector3[] _positions = new Vector3[32768];
    private Vector3[] _atlas = new Vector3[32768];
    private int[] _indices = new int[3 * 65536];
    private SurfaceClass[] _classes = new SurfaceClass[65536];
    private Material[] _materials = new Material[65536];

    /// <summary>Number of vertices V.</summary>
    public int VertexCount { get; private set; }

    /// <summary>Number of triangles T.</summary>
    public int TriangleCount { get; private set; }

    /// <summary>V positions.</summary>
    public Span<Vector3> Positions => _positions.AsSpan(0, VertexCount);

    /// <summary>V atlas points; meaningful for skin and eyeballs.</summary>
    public Span<Vector3> Atlas => _atlas.AsSpan(0, VertexCount);

    /// <summary>3T vertex indices.</summary>
    public Span<int> Indices => _indices.AsSpan(0, 3 * TriangleCount);

    /// <summary>T classes.</summary>
    public Span<SurfaceClass> Classes => _classes.AsSpan(0, TriangleCount);

    /// <summary>T materials.</summary>
    public Span<Material> Materials => _materials.AsSpan(0, TriangleCount);

    /// <summary>Forgets everything.</summary>
    public void Clear()
    {
        VertexCount = 0;
        TriangleCount = 0;
    }

    /// <summary>Appends a vertex and returns its index.</summary>
    public int AddVertex(Vector3 position, Vector3 atlas = default)
    {
        if (VertexCount == _positions.Length)
        {
            Array.Resize(ref _positions, 2 * VertexCount);
            Array.Resize(ref _atlas, 2 * VertexCount);
        }

        _positions[VertexCount] = position;
        _atlas[VertexCount] = atlas;
        return VertexCount++;
    }

    /// <summary>Appends a triangle, counter-clockwise seen from outside.</summary>
    public void AddTriangle(int a, int b, int c, SurfaceClass surface, Material material)
    {
        if (TriangleCount == _classes.Length)
        {
            Array.Resize(ref _indices, 6 * TriangleCount);
            Array.Resize(ref _classes, 2 * TriangleCount);
            Array.Resize(ref _materials, 2 * TriangleCount);
        }

        _indices[3 * TriangleCount] = a;
        _indices[(3 * TriangleCount) + 1] = b;
        _indices[(3 * TriangleCount) + 2] = c;
        _classes[TriangleCount] = surface;
        _materials[TriangleCount] = material;
        TriangleCount++;
    }

    /// <summary>Appends a quad, counter-clockwise seen from outside.</summary>
    public void AddQuad(int a, int b, int c, int d, SurfaceClass surface, Material material)
    {
        AddTriangle(a, b, c, surface, material);
        AddTriangle(a, c, d, surface, material);
    }

    /// <summary>Keeps only triangles for which <paramref name="keep"/> says so (argument: triangle index); vertices stay.</summary>
    public void KeepTriangles(Func<int, bool> keep)
    {
        int kept = 0;
        for (int t = 0; t < TriangleCount; t++)
        {
            if (keep(t))
            {
                _indices.AsSpan(3 * t, 3).CopyTo(_indices.AsSpan(3 * kept));
                _classes[kept] = _classes[t];
                _materials[kept] = _materials[t];
                kept++;
            }
        }

        TriangleCount = kept;
    }
}
