namespace AutoPlace.Geometry;

/// <summary>A path along the edges of a mesh.</summary>
/// <param name="Vertices">Vertices in sequence; a closed path doesn't repeat the first one.</param>
/// <param name="IsClosed">An edge leads from the last vertex back to the first one.</param>
public sealed record VertexPath(IReadOnlyList<int> Vertices, bool IsClosed)
{
    /// <summary>Number of edges.</summary>
    public int EdgeCount => IsClosed ? Vertices.Count : Vertices.Count - 1;
}
