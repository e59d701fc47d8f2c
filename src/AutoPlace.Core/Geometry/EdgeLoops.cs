namespace AutoPlace.Geometry;

/// <summary>
/// Edge loops: a loop goes through a vertex where four edges meet and leaves by the edge opposite to the one it came
/// by, that is the one that shares no face with it. It ends at a vertex with another number of edges, on a border and
/// at an edge with more than two faces. On meshes of quads these are the lines that a modeller laid round eyes and
/// mouth. An edge belongs to exactly one loop.
/// </summary>
public static class EdgeLoops
{
    /// <summary>The loop through an edge.</summary>
    /// <param name="adjacency">The mesh's adjacency.</param>
    /// <param name="edge">The edge.</param>
    /// <returns>
    /// Vertices in sequence. A closed loop begins with the edge, lower end first; an open one begins at the end that
    /// lies behind the edge's lower vertex. A loop that crosses itself visits a vertex twice.
    /// </returns>
    public static VertexPath Through(MeshAdjacency adjacency, int edge)
    {
        ArgumentNullException.ThrowIfNull(adjacency);
        return Trace(adjacency, edge, null);
    }

    /// <summary>All loops, in the order of their lowest edges.</summary>
    /// <param name="adjacency">The mesh's adjacency.</param>
    public static IReadOnlyList<VertexPath> All(MeshAdjacency adjacency)
    {
        ArgumentNullException.ThrowIfNull(adjacency);
        var visited = new bool[adjacency.EdgeCount];
        var loops = new List<VertexPath>();
        for (int edge = 0; edge < visited.Length; edge++)
        {
            if (!visited[edge])
            {
                loops.Add(Trace(adjacency, edge, visited));
            }
        }

        return loops;
    }

    /// <summary>The edge by which a loop goes on, or -1 where it ends.</summary>
    /// <param name="adjacency">The mesh's adjacency.</param>
    /// <param name="edge">The edge by which it came.</param>
    /// <param name="vertex">The end of that edge to go through.</param>
    public static int Next(MeshAdjacency adjacency, int edge, int vertex)
    {
        ArgumentNullException.ThrowIfNull(adjacency);
        if (adjacency.Valence(vertex) != 4)
        {
            return -1;
        }

        int opposite = -1;
        foreach (int candidate in adjacency.VertexEdges(vertex))
        {
            if (adjacency.EdgeFaces(candidate).Length != 2)
            {
                return -1;
            }

            if (candidate != edge && !ShareFace(adjacency, candidate, edge))
            {
                if (opposite >= 0)
                {
                    return -1;
                }

                opposite = candidate;
            }
        }

        return opposite;
    }

    private static VertexPath Trace(MeshAdjacency adjacency, int edge, bool[]? visited)
    {
        (int low, int high) = adjacency.Edges[edge];
        var path = new List<int> { low, high };
        if (visited is not null)
        {
            visited[edge] = true;
        }

        if (Follow(adjacency, edge, high, path, visited))
        {
            path.RemoveAt(path.Count - 1);
            return new VertexPath(path, true);
        }

        var back = new List<int>();
        Follow(adjacency, edge, low, back, visited);
        back.Reverse();
        back.AddRange(path);
        return new VertexPath(back, false);
    }

    /// <summary>Goes on from an edge through a vertex; true when the loop comes back to the edge.</summary>
    private static bool Follow(MeshAdjacency adjacency, int edge, int vertex, List<int> path, bool[]? visited)
    {
        int start = edge;
        while ((edge = Next(adjacency, edge, vertex)) >= 0)
        {
            if (edge == start)
            {
                return true;
            }

            if (visited is not null)
            {
                visited[edge] = true;
            }

            vertex = adjacency.Edges[edge].Other(vertex);
            path.Add(vertex);
        }

        return false;
    }

    private static bool ShareFace(MeshAdjacency adjacency, int edge, int other)
    {
        foreach (int face in adjacency.EdgeFaces(edge))
        {
            if (adjacency.EdgeFaces(other).Contains(face))
            {
                return true;
            }
        }

        return false;
    }
}
