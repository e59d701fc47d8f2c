using System.Numerics;

namespace AutoPlace.Geometry;

/// <summary>
/// Triangles over shared vertices. Owns its memory and doesn't change. The frame and unit of the positions are those
/// of whoever holds the mesh and are named there. Triangles are counter-clockwise seen from outside.
/// </summary>
public sealed class TriangleMesh
{
    private readonly Vector3[] _positions;
    private readonly int[] _indices;
    private bool[]? _facesOutward;

    /// <summary>Takes over the arrays; the caller no longer writes to them.</summary>
    /// <param name="positions">V vertex positions, finite.</param>
    /// <param name="indices">3T vertex indices, three for each triangle.</param>
    /// <exception cref="ArgumentException">
    /// The number of indices isn't a multiple of three, an index lies outside [0, V), or a position isn't finite; the
    /// message names the triangle or vertex.
    /// </exception>
    public TriangleMesh(Vector3[] positions, int[] indices)
    {
        ArgumentNullException.ThrowIfNull(positions);
        ArgumentNullException.ThrowIfNull(indices);
        if (indices.Length % 3 != 0)
        {
            throw new ArgumentException($"{indices.Length} indices are not a multiple of three.", nameof(indices));
        }

        for (int i = 0; i < indices.Length; i++)
        {
            if ((uint)indices[i] >= (uint)positions.Length)
            {
                throw new ArgumentException(
                    $"triangle {i / 3}: index {indices[i]} of {positions.Length} vertices", nameof(indices));
            }
        }

        for (int v = 0; v < positions.Length; v++)
        {
            Vector3 p = positions[v];
            if (!float.IsFinite(p.X) || !float.IsFinite(p.Y) || !float.IsFinite(p.Z))
            {
                throw new ArgumentException($"vertex {v}: position {p} is not finite", nameof(positions));
            }
        }

        _positions = positions;
        _indices = indices;
    }

    /// <summary>V vertex positions.</summary>
    public ReadOnlySpan<Vector3> Positions => _positions;

    /// <summary>3T vertex indices, three for each triangle.</summary>
    public ReadOnlySpan<int> Indices => _indices;

    /// <summary>Number of vertices V.</summary>
    public int VertexCount => _positions.Length;

    /// <summary>Number of triangles T.</summary>
    public int TriangleCount => _indices.Length / 3;

    /// <summary>T flags: whether a triangle really is counter-clockwise seen from outside, as far as its piece tells; found when first asked for.</summary>
    internal ReadOnlySpan<bool> FacesOutward => _facesOutward ??= MeshOrientation.OutwardOf(this);

    /// <summary>The three corners of a triangle.</summary>
    public (Vector3 A, Vector3 B, Vector3 C) Corners(int triangle) =>
        (_positions[_indices[3 * triangle]], _positions[_indices[(3 * triangle) + 1]], _positions[_indices[(3 * triangle) + 2]]);

    /// <summary>Position of a surface point.</summary>
    public Vector3d Position(SurfacePoint point)
    {
        (Vector3 a, Vector3 b, Vector3 c) = Corners(point.Triangle);
        return ((Vector3d)a * point.Barycentric.X) + ((Vector3d)b * point.Barycentric.Y) + ((Vector3d)c * point.Barycentric.Z);
    }

    /// <summary>The same triangles over other positions (a copy of the reference to the indices is shared).</summary>
    /// <param name="positions">V positions, in any frame.</param>
    /// <exception cref="ArgumentException">Another number of positions than V, or one that isn't finite.</exception>
    public TriangleMesh WithPositions(Vector3[] positions)
    {
        ArgumentNullException.ThrowIfNull(positions);
        if (positions.Length != _positions.Length)
        {
            throw new ArgumentException($"{positions.Length} positions for {_positions.Length} vertices.", nameof(positions));
        }

        return new TriangleMesh(positions, _indices);
    }

    /// <summary>Some of the triangles, over the same vertices (all of them, used or not).</summary>
    /// <param name="triangles">Indices of the triangles to keep, in the new order.</param>
    public TriangleMesh Subset(ReadOnlySpan<int> triangles)
    {
        int[] indices = new int[3 * triangles.Length];
        for (int t = 0; t < triangles.Length; t++)
        {
            _indices.AsSpan(3 * triangles[t], 3).CopyTo(indices.AsSpan(3 * t, 3));
        }

        return new TriangleMesh(_positions, indices);
    }

    /// <summary>The mesh with the winding of some triangles reversed; triangle numbers stay, second and third corner change places.</summary>
    /// <param name="reversed">T flags.</param>
    /// <exception cref="ArgumentException">Another number of flags than triangles.</exception>
    public TriangleMesh WithReversed(ReadOnlySpan<bool> reversed)
    {
        if (reversed.Length != TriangleCount)
        {
            throw new ArgumentException($"{reversed.Length} flags for {TriangleCount} triangles.", nameof(reversed));
        }

        int[] indices = [.. _indices];
        for (int t = 0; t < reversed.Length; t++)
        {
            if (reversed[t])
            {
                (indices[(3 * t) + 1], indices[(3 * t) + 2]) = (indices[(3 * t) + 2], indices[(3 * t) + 1]);
            }
        }

        return new TriangleMesh(_positions, indices);
    }
}
