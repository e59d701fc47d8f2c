namespace AutoPlace.Geometry;

public sealed partial class MeshAdjacency
{
    /// <summary>
    /// The borders, each edge with one face in one of them. A border turns round its vertices through the faces there,
    /// so that two borders that touch in a vertex stay apart. It runs in the direction of the face of its lowest edge
    /// (the surface lies to the left), and is open only where it meets an edge with more than two faces.
    /// </summary>
    /// <returns>Paths in the order of their lowest edges.</returns>
    public IReadOnlyList<VertexPath> Borders()
    {
        var borders = new List<VertexPath>();
        var visited = new bool[_edges.Length];
        for (int edge = 0; edge < _edges.Length; edge++)
        {
            if (visited[edge] || !IsBorderEdge(edge))
            {
                continue;
            }

            (int from, int to) = (_edges[edge].Low, _edges[edge].High);
            if (!RunsUpward(EdgeFaces(edge)[0], edge))
            {
                (from, to) = (to, from);
            }

            visited[edge] = true;
            var path = new List<int> { from, to };
            bool closed = Follow(edge, to, path, visited);
            if (closed)
            {
                path.RemoveAt(path.Count - 1);
            }
            else
            {
                var back = new List<int>();
                Follow(edge, from, back, visited);
                back.Reverse();
                path.InsertRange(0, back);
            }

            borders.Add(new VertexPath(path, closed));
        }

        return borders;
    }

    /// <summary>Follows a border from an edge through a vertex; true when it comes back to the edge.</summary>
    private bool Follow(int edge, int vertex, List<int> path, bool[] visited)
    {
        int start = edge;
        while (true)
        {
            edge = NextBorderEdge(edge, vertex);
            if (edge == start)
            {
                return true;
            }

            if (edge < 0 || visited[edge])
            {
                return false;
            }

            visited[edge] = true;
            vertex = _edges[edge].Other(vertex);
            path.Add(vertex);
        }
    }

    /// <summary>From a border edge through the fan of faces at one of its ends to the other border edge of the fan, or -1.</summary>
    private int NextBorderEdge(int edge, int vertex)
    {
        int face = EdgeFaces(edge)[0];
        for (int step = 0; step <= VertexFaces(vertex).Length; step++)
        {
            edge = OtherEdge(face, edge, vertex);
            if (edge < 0 || IsNonManifoldEdge(edge))
            {
                return -1;
            }

            ReadOnlySpan<int> faces = EdgeFaces(edge);
            if (faces.Length == 1)
            {
                return edge;
            }

            face = faces[0] == face ? faces[1] : faces[0];
        }

        return -1;
    }

    /// <summary>The other edge that a face has at a vertex, or -1.</summary>
    private int OtherEdge(int face, int edge, int vertex)
    {
        foreach (int candidate in FaceEdges(face))
        {
            if (candidate >= 0 && candidate != edge && (_edges[candidate].Low == vertex || _edges[candidate].High == vertex))
            {
                return candidate;
            }
        }

        return -1;
    }
}
