namespace AutoPlace.Geometry;

/// <summary>Shortest paths along the edges of a mesh (Dijkstra 1959). Reused from query to query; not for several threads.</summary>
internal sealed class EdgePaths
{
    private readonly TriangleMesh _mesh;
    private readonly MeshAdjacency _adjacency;
    private readonly double[] _distance;
    private readonly PriorityQueue<int, (double Distance, int Vertex)> _queue = new();
    private readonly List<int> _touched = [];

    /// <summary>Prepares queries.</summary>
    /// <param name="mesh">The mesh.</param>
    /// <param name="adjacency">Its edges.</param>
    internal EdgePaths(TriangleMesh mesh, MeshAdjacency adjacency)
    {
        _mesh = mesh;
        _adjacency = adjacency;
        _distance = new double[mesh.VertexCount];
        Array.Fill(_distance, double.PositiveInfinity);
    }

    /// <summary>Visits every vertex within reach of a point of the surface, nearest first, each once.</summary>
    /// <param name="corners">Corners of the triangle that the point lies in.</param>
    /// <param name="from">The point.</param>
    /// <param name="reach">Longest path, in the mesh's unit.</param>
    /// <param name="visit">Called with vertex and length of the path.</param>
    internal void Visit(ReadOnlySpan<int> corners, Vector3d from, double reach, Action<int, double> visit)
    {
        foreach (int corner in corners)
        {
            Relax(corner, Vector3d.Distance(_mesh.Positions[corner], from), reach);
        }

        while (_queue.TryDequeue(out int vertex, out (double Distance, int Vertex) at))
        {
            if (at.Distance > _distance[vertex])
            {
                continue;
            }

            visit(vertex, at.Distance);
            Vector3d position = _mesh.Positions[vertex];
            foreach (int edge in _adjacency.VertexEdges(vertex))
            {
                int neighbour = _adjacency.Edges[edge].Other(vertex);
                Relax(neighbour, at.Distance + Vector3d.Distance(position, _mesh.Positions[neighbour]), reach);
            }
        }

        foreach (int vertex in _touched)
        {
            _distance[vertex] = double.PositiveInfinity;
        }

        _touched.Clear();
    }

    private void Relax(int vertex, double distance, double reach)
    {
        if (distance < reach && distance < _distance[vertex])
        {
            _distance[vertex] = distance;
            _touched.Add(vertex);
            _queue.Enqueue(vertex, (distance, vertex));
        }
    }
}
