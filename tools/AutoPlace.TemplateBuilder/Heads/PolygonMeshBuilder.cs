using System.Numerics;
using AutoPlace.Geometry;

namespace AutoPlace.TemplateBuilder.Heads;

/// <summary>Collects vertices and faces by part.</summary>
internal sealed class PolygonMeshBuilder
{
    private readonly List<Vector3> _positions = [];
    private readonly List<int> _starts = [0];
    private readonly List<int> _corners = [];
    private readonly List<string> _parts = [];

    public int AddVertex(Vector3 position)
    {
        _positions.Add(position);
        return _positions.Count - 1;
    }

    public void AddFace(string part, ReadOnlySpan<int> corners)
    {
        _corners.AddRange(corners);
        _starts.Add(_corners.Count);
        _parts.Add(part);
    }

    public (PolygonMesh Mesh, string[] Parts) Build() => (new PolygonMesh([.. _positions], [.. _starts], [.. _corners]), [.. _parts]);
}
