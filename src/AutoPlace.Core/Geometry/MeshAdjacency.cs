namespace AutoPlace.Geometry;

/// <summary>
/// What lies next to what on a mesh: edges, faces and neighbours of vertices, faces of edges, borders, components. Any
/// mesh will do: edges may have any number of faces, faces any winding. Edges are numbered by their lower, then their
/// higher vertex. A side of a face whose two ends are the same vertex is no edge.
/// </summary>
public sealed partial class MeshAdjacency
{
    private readonly int[] _faceStarts;
    private readonly int[] _faceVertices;
    private readonly int[] _cornerEdges;
    private readonly MeshEdge[] _edges;
    private readonly int[] _edgeFaceStarts;
    private readonly int[] _edgeFaces;
    private readonly int[] _vertexFaceStarts;
    private readonly int[] _vertexFaces;
    private readonly int[] _vertexEdgeStarts;
    private readonly int[] _vertexEdges;

    /// <summary>Collects the adjacency of polygons, O(corners).</summary>
    /// <param name="mesh">Any polygons.</param>
    public MeshAdjacency(PolygonMesh mesh)
        : this(
            (mesh ?? throw new ArgumentNullException(nameof(mesh))).VertexCount,
            mesh.FaceStarts.ToArray(),
            mesh.FaceVertices.ToArray())
    {
    }

    /// <summary>Collects the adjacency of triangles, O(corners).</summary>
    /// <param name="mesh">Any triangles.</param>
    public MeshAdjacency(TriangleMesh mesh)
        : this(
            (mesh ?? throw new ArgumentNullException(nameof(mesh))).VertexCount,
            TriangleStarts(mesh.TriangleCount),
            mesh.Indices.ToArray())
    {
    }

    private MeshAdjacency(int vertexCount, int[] faceStarts, int[] faceVertices)
    {
        VertexCount = vertexCount;
        _faceStarts = faceStarts;
        _faceVertices = faceVertices;
        int[] cornerFaces = CornerFaces(faceStarts, faceVertices.Length);
        (_edges, _cornerEdges) = CollectEdges();
        (_edgeFaceStarts, _edgeFaces) = Group(_edges.Length, _cornerEdges, cornerFaces);
        (_vertexFaceStarts, _vertexFaces) = Group(vertexCount, faceVertices, cornerFaces);
        (_vertexEdgeStarts, _vertexEdges) = GroupEdges();
    }

    /// <summary>Number of vertices, used or not.</summary>
    public int VertexCount { get; }

    /// <summary>Number of faces.</summary>
    public int FaceCount => _faceStarts.Length - 1;

    /// <summary>Number of edges.</summary>
    public int EdgeCount => _edges.Length;

    /// <summary>All edges, by lower, then by higher vertex.</summary>
    public ReadOnlySpan<MeshEdge> Edges => _edges;

    /// <summary>Corner vertices of a face, in order.</summary>
    /// <param name="face">The face.</param>
    public ReadOnlySpan<int> FaceVertices(int face) => _faceVertices.AsSpan(_faceStarts[face].._faceStarts[face + 1]);

    /// <summary>For each corner of a face the edge from it to the next corner; -1 where both are the same vertex.</summary>
    /// <param name="face">The face.</param>
    public ReadOnlySpan<int> FaceEdges(int face) => _cornerEdges.AsSpan(_faceStarts[face].._faceStarts[face + 1]);

    /// <summary>Faces of an edge, rising; one that has the edge twice is listed twice.</summary>
    /// <param name="edge">The edge.</param>
    public ReadOnlySpan<int> EdgeFaces(int edge) => _edgeFaces.AsSpan(_edgeFaceStarts[edge].._edgeFaceStarts[edge + 1]);

    /// <summary>Faces around a vertex, rising.</summary>
    /// <param name="vertex">The vertex.</param>
    public ReadOnlySpan<int> VertexFaces(int vertex) =>
        _vertexFaces.AsSpan(_vertexFaceStarts[vertex].._vertexFaceStarts[vertex + 1]);

    /// <summary>Edges at a vertex, by the vertex at their other end, rising.</summary>
    /// <param name="vertex">The vertex.</param>
    public ReadOnlySpan<int> VertexEdges(int vertex) =>
        _vertexEdges.AsSpan(_vertexEdgeStarts[vertex].._vertexEdgeStarts[vertex + 1]);

    /// <summary>Number of edges at a vertex.</summary>
    /// <param name="vertex">The vertex.</param>
    public int Valence(int vertex) => _vertexEdgeStarts[vertex + 1] - _vertexEdgeStarts[vertex];

    /// <summary>True when an edge has one face only.</summary>
    /// <param name="edge">The edge.</param>
    public bool IsBorderEdge(int edge) => EdgeFaces(edge).Length == 1;

    /// <summary>True when an edge has more than two faces.</summary>
    /// <param name="edge">The edge.</param>
    public bool IsNonManifoldEdge(int edge) => EdgeFaces(edge).Length > 2;

    /// <summary>True when a vertex lies on an edge with one face only.</summary>
    /// <param name="vertex">The vertex.</param>
    public bool IsBorderVertex(int vertex)
    {
        foreach (int edge in VertexEdges(vertex))
        {
            if (IsBorderEdge(edge))
            {
                return true;
            }
        }

        return false;
    }

    /// <summary>True when an edge has two faces that run along it in the same direction: one of them is turned over.</summary>
    /// <param name="edge">The edge.</param>
    public bool IsWindingBroken(int edge)
    {
        ReadOnlySpan<int> faces = EdgeFaces(edge);
        return faces.Length == 2 && faces[0] != faces[1] && RunsUpward(faces[0], edge) == RunsUpward(faces[1], edge);
    }

    /// <summary>The edge between two vertices, or -1. O(valence).</summary>
    /// <param name="vertex">One end.</param>
    /// <param name="other">The other end.</param>
    public int FindEdge(int vertex, int other)
    {
        foreach (int edge in VertexEdges(vertex))
        {
            if (_edges[edge].Other(vertex) == other)
            {
                return edge;
            }
        }

        return -1;
    }

    /// <summary>
    /// The component of each face: faces that share a vertex belong together. Numbered from 0 in the order of their
    /// first faces.
    /// </summary>
    /// <param name="count">Number of components.</param>
    public int[] FaceComponents(out int count)
    {
        var component = new int[FaceCount];
        Array.Fill(component, -1);
        var pending = new Stack<int>();
        count = 0;
        for (int start = 0; start < component.Length; start++)
        {
            if (component[start] >= 0)
            {
                continue;
            }

            component[start] = count;
            pending.Push(start);
            while (pending.TryPop(out int face))
            {
                foreach (int vertex in FaceVertices(face))
                {
                    foreach (int next in VertexFaces(vertex))
                    {
                        if (component[next] < 0)
                        {
                            component[next] = count;
                            pending.Push(next);
                        }
                    }
                }
            }

            count++;
        }

        return component;
    }

    /// <summary>The component of each vertex, as <see cref="FaceComponents"/>; -1 for vertices without a face.</summary>
    /// <param name="count">Number of components.</param>
    public int[] VertexComponents(out int count)
    {
        int[] ofFace = FaceComponents(out count);
        var component = new int[VertexCount];
        for (int v = 0; v < component.Length; v++)
        {
            component[v] = VertexFaces(v) is [int face, ..] ? ofFace[face] : -1;
        }

        return component;
    }

    /// <summary>True when the face has the edge from its lower to its higher vertex.</summary>
    private bool RunsUpward(int face, int edge) => FaceVertices(face)[FaceEdges(face).IndexOf(edge)] == _edges[edge].Low;

    private static int[] TriangleStarts(int triangles)
    {
        var starts = new int[triangles + 1];
        for (int t = 0; t <= triangles; t++)
        {
            starts[t] = 3 * t;
        }

        return starts;
    }

    private static int[] CornerFaces(int[] faceStarts, int corners)
    {
        var faces = new int[corners];
        for (int f = 0; f + 1 < faceStarts.Length; f++)
        {
            faces.AsSpan(faceStarts[f]..faceStarts[f + 1]).Fill(f);
        }

        return faces;
    }

    private (MeshEdge[] Edges, int[] CornerEdges) CollectEdges()
    {
        var lows = new int[_faceVertices.Length];
        var highs = new int[_faceVertices.Length];
        for (int f = 0; f < FaceCount; f++)
        {
            for (int c = _faceStarts[f]; c < _faceStarts[f + 1]; c++)
            {
                int next = c + 1 < _faceStarts[f + 1] ? c + 1 : _faceStarts[f];
                (int a, int b) = (_faceVertices[c], _faceVertices[next]);
                lows[c] = a == b ? -1 : Math.Min(a, b);
                highs[c] = Math.Max(a, b);
            }
        }

        // Sides by their lower vertex, then in each small group by the higher one.
        var corners = new int[lows.Length];
        for (int c = 0; c < corners.Length; c++)
        {
            corners[c] = c;
        }

        (int[] starts, int[] sides) = Group(VertexCount, lows, corners);
        var edges = new List<MeshEdge>(lows.Length / 2);
        var cornerEdges = new int[lows.Length];
        Array.Fill(cornerEdges, -1);
        for (int v = 0; v < VertexCount; v++)
        {
            Span<int> group = sides.AsSpan(starts[v]..starts[v + 1]);
            group.Sort((a, b) => highs[a].CompareTo(highs[b]));
            int last = -1;
            foreach (int side in group)
            {
                if (highs[side] != last)
                {
                    last = highs[side];
                    edges.Add(new MeshEdge(v, last));
                }

                cornerEdges[side] = edges.Count - 1;
            }
        }

        return (edges.ToArray(), cornerEdges);
    }

    private (int[] Starts, int[] Edges) GroupEdges()
    {
        // First the edges to lower neighbours, then those to higher ones: with rising edge numbers both come sorted.
        var ends = new int[2 * _edges.Length];
        var edges = new int[ends.Length];
        for (int e = 0; e < _edges.Length; e++)
        {
            (ends[e], edges[e]) = (_edges[e].High, e);
            (ends[_edges.Length + e], edges[_edges.Length + e]) = (_edges[e].Low, e);
        }

        return Group(VertexCount, ends, edges);
    }

    /// <summary>Counting sort: the values of each key, in their order; negative keys are left out.</summary>
    private static (int[] Starts, int[] Values) Group(int keyCount, int[] keys, int[] values)
    {
        var starts = new int[keyCount + 1];
        foreach (int key in keys)
        {
            if (key >= 0)
            {
                starts[key + 1]++;
            }
        }

        for (int k = 0; k < keyCount; k++)
        {
            starts[k + 1] += starts[k];
        }

        var grouped = new int[starts[keyCount]];
        int[] next = starts.AsSpan(0, keyCount).ToArray();
        for (int i = 0; i < keys.Length; i++)
        {
            if (keys[i] >= 0)
            {
                grouped[next[keys[i]]++] = values[i];
            }
        }

        return (starts, grouped);
    }
}
