namespace AutoPlace.Geometry;

/// <summary>An undirected edge.</summary>
/// <param name="Low">The vertex with the smaller index.</param>
/// <param name="High">The vertex with the larger index.</param>
public readonly record struct MeshEdge(int Low, int High)
{
    /// <summary>The end that isn't <paramref name="vertex"/>.</summary>
    /// <param name="vertex">One end.</param>
    public int Other(int vertex) => vertex == Low ? High : Low;
}
