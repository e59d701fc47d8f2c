using System.Numerics;
using AutoPlace.Geometry;

namespace AutoPlace.TemplateBuilder.Heads;

/// <summary>Collects vertices and faces by part.</summary>
internal sealed class PolygonMeshBuilder
{
    private readonly List<Vector3> _positions = [];
    private readonly List<(string Part, int[] Corners)> _faces = [];

    /// <summary>Position of a vertex; setting it rounds as adding does.</summary>
    public Vector3d this[int vertex]
    {
        get => _positions[vertex];
        set => _positions[vertex] = Rounded(value);
    }

    /// <summary>Corners of each face of a part.</summary>
    public IEnumerable<int[]> Faces(string part) => _faces.Where(face => face.Part == part).Select(face => face.Corners);

    /// <summary>Adds a vertex, rounded to five decimals: 0.6 micrometres on a life-sized head.</summary>
    public int AddVertex(Vector3d position)
    {
        _positions.Add(Rounded(position));
        return _positions.Count - 1;
    }

    public void AddFace(string part, int[] corners) => _faces.Add((part, corners));

    /// <summary>The mesh, faces of each part together in the order in which the parts came up; vertices without a face are left out.</summary>
    public (PolygonMesh Mesh, string[] Parts) Build()
    {
        bool[] used = new bool[_positions.Count];
        foreach (int corner in _faces.SelectMany(face => face.Corners))
        {
            used[corner] = true;
        }

        int[] renumbered = new int[_positions.Count];
        for (int v = 1; v < renumbered.Length; v++)
        {
            renumbered[v] = renumbered[v - 1] + (used[v - 1] ? 1 : 0);
        }

        var starts = new List<int> { 0 };
        var corners = new List<int>();
        var parts = new List<string>();
        foreach (IGrouping<string, (string Part, int[] Corners)> group in _faces.GroupBy(face => face.Part))
        {
            foreach ((string part, int[] face) in group)
            {
                corners.AddRange(face.Select(corner => renumbered[corner]));
                starts.Add(corners.Count);
                parts.Add(part);
            }
        }

        return (new PolygonMesh([.. _positions.Where((_, v) => used[v])], [.. starts], [.. corners]), [.. parts]);
    }

    private static Vector3 Rounded(Vector3d p) => new((float)Math.Round(p.X, 5), (float)Math.Round(p.Y, 5), (float)Math.Round(p.Z, 5));
}
