using System.Numerics;

namespace AutoPlace.Geometry;

/// <summary>
/// Polygons (triangles, quads, n-gons) over shared vertices, as modelled. Owns its memory and doesn't change.
/// </summary>
public sealed class PolygonMesh
{
    private readonly Vector3[] _positions;
    private readonly int[] _faceStarts;
    private readonly int[] _faceVertices;

    /// <summary>Takes over the arrays; the caller no longer writes to them.</summary>
    /// <param name="positions">V vertex positions, finite.</param>
    /// <param name="faceStarts">F + 1 offsets into <paramref name="faceVertices"/>, rising, first 0.</param>
    /// <param name="faceVertices">Corner vertices of all faces, one face after the other, at least three for each.</param>
    /// <exception cref="ArgumentException">
    /// Offsets that don't rise by at least three or don't end at the number of corners, an index outside [0, V), a
    /// position that isn't finite; the message names the face or vertex.
    /// </exception>
    public PolygonMesh(Vector3[] positions, int[] faceStarts, int[] faceVertices)
    {
        ArgumentNullException.ThrowIfNull(positions);
        ArgumentNullException.ThrowIfNull(faceStarts);
        ArgumentNullException.ThrowIfNull(faceVertices);
        if (faceStarts.Length == 0 || faceStarts[0] != 0 || faceStarts[^1] != faceVertices.Length)
        {
            throw new ArgumentException("Face offsets must begin with 0 and end with the number of corners.", nameof(faceStarts));
        }

        for (int f = 0; f + 1 < faceStarts.Length; f++)
        {
            if (faceStarts[f + 1] - faceStarts[f] < 3)
            {
                throw new ArgumentException($"face {f}: {faceStarts[f + 1] - faceStarts[f]} corners", nameof(faceStarts));
            }

            for (int c = faceStarts[f]; c < faceStarts[f + 1]; c++)
            {
                if ((uint)faceVertices[c] >= (uint)positions.Length)
                {
                    throw new ArgumentException(
                        $"face {f}: index {faceVertices[c]} of {positions.Length} vertices", nameof(faceVertices));
                }
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
        _faceStarts = faceStarts;
        _faceVertices = faceVertices;
    }

    /// <summary>V vertex positions.</summary>
    public ReadOnlySpan<Vector3> Positions => _positions;

    /// <summary>F + 1 offsets into <see cref="FaceVertices"/>.</summary>
    public ReadOnlySpan<int> FaceStarts => _faceStarts;

    /// <summary>Corner vertices of all faces.</summary>
    public ReadOnlySpan<int> FaceVertices => _faceVertices;

    /// <summary>Number of vertices V.</summary>
    public int VertexCount => _positions.Length;

    /// <summary>Number of faces F.</summary>
    public int FaceCount => _faceStarts.Length - 1;

    /// <summary>Corner vertices of one face, in order.</summary>
    public ReadOnlySpan<int> Face(int face) => _faceVertices.AsSpan(_faceStarts[face]..(_faceStarts[face + 1]));

    /// <summary>The same faces over other positions.</summary>
    /// <param name="positions">V positions.</param>
    /// <exception cref="ArgumentException">Another number of positions than V, or one that isn't finite.</exception>
    public PolygonMesh WithPositions(Vector3[] positions)
    {
        ArgumentNullException.ThrowIfNull(positions);
        if (positions.Length != _positions.Length)
        {
            throw new ArgumentException($"{positions.Length} positions for {_positions.Length} vertices.", nameof(positions));
        }

        return new PolygonMesh(positions, _faceStarts, _faceVertices);
    }

    /// <summary>Some of the faces alone, over the vertices that they have.</summary>
    /// <param name="faces">Indices of the faces, in the order in which they are to come.</param>
    /// <param name="vertices">For each vertex of the result its index here, ascending.</param>
    public PolygonMesh Subset(IReadOnlyList<int> faces, out int[] vertices)
    {
        ArgumentNullException.ThrowIfNull(faces);
        int[] renumbered = new int[VertexCount];
        foreach (int f in faces)
        {
            foreach (int v in Face(f))
            {
                renumbered[v] = 1;
            }
        }

        vertices = [.. Enumerable.Range(0, VertexCount).Where(v => renumbered[v] == 1)];
        for (int v = 0; v < vertices.Length; v++)
        {
            renumbered[vertices[v]] = v;
        }

        var starts = new List<int>(faces.Count + 1) { 0 };
        var corners = new List<int>(4 * faces.Count);
        foreach (int f in faces)
        {
            foreach (int v in Face(f))
            {
                corners.Add(renumbered[v]);
            }

            starts.Add(corners.Count);
        }

        return new PolygonMesh([.. vertices.Select(v => _positions[v])], [.. starts], [.. corners]);
    }

    /// <summary>
    /// Triangles of all faces, face by face. A quad is cut along its shorter diagonal, a larger face as a fan from the
    /// corner nearest to the mean of its corners, so that the cut depends on the shape alone and not on how vertices are
    /// numbered or where the corner list begins.
    /// </summary>
    /// <param name="triangleFaces">For each triangle the face that it came from.</param>
    public TriangleMesh Triangulate(out int[] triangleFaces)
    {
        int triangles = _faceVertices.Length - (2 * FaceCount);
        int[] indices = new int[3 * triangles];
        triangleFaces = new int[triangles];
        int next = 0;
        for (int f = 0; f < FaceCount; f++)
        {
            ReadOnlySpan<int> corners = Face(f);
            int first = FirstFanCorner(corners);
            for (int i = 1; i + 1 < corners.Length; i++)
            {
                triangleFaces[next] = f;
                indices[3 * next] = corners[first];
                indices[(3 * next) + 1] = corners[(first + i) % corners.Length];
                indices[(3 * next) + 2] = corners[(first + i + 1) % corners.Length];
                next++;
            }
        }

        return new TriangleMesh(_positions, indices);
    }

    private int FirstFanCorner(ReadOnlySpan<int> corners)
    {
        if (corners.Length == 4)
        {
            float d02 = Vector3.DistanceSquared(_positions[corners[0]], _positions[corners[2]]);
            float d13 = Vector3.DistanceSquared(_positions[corners[1]], _positions[corners[3]]);
            return d13 < d02 ? 1 : 0;
        }

        Vector3 mean = Vector3.Zero;
        foreach (int corner in corners)
        {
            mean += _positions[corner] / corners.Length;
        }

        int first = 0;
        for (int i = 1; i < corners.Length && corners.Length > 3; i++)
        {
            bool isNearer = Vector3.DistanceSquared(_positions[corners[i]], mean) < Vector3.DistanceSquared(_positions[corners[first]], mean);
            first = isNearer ? i : first;
        }

        return first;
    }
}
