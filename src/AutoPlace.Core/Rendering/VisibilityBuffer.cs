namespace AutoPlace.Rendering;

/// <summary>
/// What each pixel of a view sees: the triangle, the point on it, and its depth. Everything else (normals, part,
/// atlas point, material) is looked up from these. Reused from view to view: it owns its memory.
/// </summary>
public sealed class VisibilityBuffer
{
    /// <summary>Marks a pixel that sees no triangle.</summary>
    public const int Background = -1;

    private readonly int[] _triangles;
    private readonly float[] _z;
    private readonly float[] _weightB;
    private readonly float[] _weightC;

    /// <summary>Makes an empty buffer.</summary>
    /// <param name="size">Pixels a side, 1 to 8192.</param>
    public VisibilityBuffer(int size)
    {
        ArgumentOutOfRangeException.ThrowIfLessThan(size, 1);
        ArgumentOutOfRangeException.ThrowIfGreaterThan(size, 8192);
        Size = size;
        _triangles = new int[size * size];
        _z = new float[size * size];
        _weightB = new float[size * size];
        _weightC = new float[size * size];
        Clear();
    }

    /// <summary>Pixels a side.</summary>
    public int Size { get; }

    /// <summary>Triangle seen by each pixel, row by row from the top; <see cref="Background"/> for none.</summary>
    public Span<int> Triangles => _triangles;

    /// <summary>View-space z of the point seen (towards the viewer, relative to the view's centre, mesh unit); negative infinity for background.</summary>
    public Span<float> Z => _z;

    /// <summary>Barycentric weight of the triangle's second corner at the pixel's centre.</summary>
    public Span<float> WeightB => _weightB;

    /// <summary>Barycentric weight of the triangle's third corner at the pixel's centre.</summary>
    public Span<float> WeightC => _weightC;

    /// <summary>Forgets everything seen.</summary>
    public void Clear()
    {
        Array.Fill(_triangles, Background);
        Array.Fill(_z, float.NegativeInfinity);
    }
}
