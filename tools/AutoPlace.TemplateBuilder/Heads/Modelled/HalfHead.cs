using System.Diagnostics.CodeAnalysis;
using AutoPlace.Geometry;

namespace AutoPlace.TemplateBuilder.Heads.Modelled;

/// <summary>Quads of the midline and the left half of a head while it is being shaped, atlas coordinates.</summary>
internal sealed class HalfHead
{
    private readonly Dictionary<(string, string), int[]> _lines = [];

    /// <summary>Positions; vertices with x = 0 lie on the midline and stay there.</summary>
    public List<Vector3d> Positions { get; } = [];

    /// <summary>Vertices that the fitting leaves where they are.</summary>
    public List<bool> Pinned { get; } = [];

    /// <summary>Corner vertices of each quad.</summary>
    public List<int[]> Faces { get; } = [];

    /// <summary>Part of each quad.</summary>
    public List<string> Parts { get; } = [];

    public int AddVertex(Vector3d position, bool pinned)
    {
        Positions.Add(position);
        Pinned.Add(pinned);
        return Positions.Count - 1;
    }

    public void AddFace(string part, params int[] corners)
    {
        Faces.Add(corners);
        Parts.Add(part);
    }

    public void AddLine(string a, string b, int[] vertices)
    {
        _lines.Add((a, b), vertices);
        _lines.Add((b, a), [.. vertices.Reverse()]);
    }

    public bool TryGetLine(string a, string b, [NotNullWhen(true)] out int[]? vertices) => _lines.TryGetValue((a, b), out vertices);

    /// <summary>The vertices along sides of patches through the given corners.</summary>
    public int[] Line(params ReadOnlySpan<string> corners)
    {
        var line = new List<int>();
        for (int i = 1; i < corners.Length; i++)
        {
            line.AddRange(_lines[(corners[i - 1], corners[i])].Skip(i > 1 ? 1 : 0));
        }

        return [.. line];
    }

    /// <summary>Vertices that share an edge with each vertex, in the order they were met.</summary>
    public int[][] Neighbours()
    {
        var neighbours = new List<int>[Positions.Count];
        for (int v = 0; v < neighbours.Length; v++)
        {
            neighbours[v] = [];
        }

        foreach (int[] face in Faces)
        {
            for (int i = 0; i < face.Length; i++)
            {
                int a = face[i], b = face[(i + 1) % face.Length];
                if (!neighbours[a].Contains(b))
                {
                    neighbours[a].Add(b);
                    neighbours[b].Add(a);
                }
            }
        }

        return [.. neighbours.Select(list => list.ToArray())];
    }

    /// <summary>Throws when two quads run along an edge in the same direction.</summary>
    public void CheckOrientation()
    {
        var edges = new Dictionary<(int, int), int>();
        for (int f = 0; f < Faces.Count; f++)
        {
            for (int i = 0; i < 4; i++)
            {
                (int, int) edge = (Faces[f][i], Faces[f][(i + 1) % 4]);
                if (!edges.TryAdd(edge, f))
                {
                    throw new InvalidOperationException($"Quads {edges[edge]} and {f} ({Parts[f]}) both run from {Positions[edge.Item1]} to {Positions[edge.Item2]}.");
                }
            }
        }
    }

    /// <summary>
    /// Adds both halves to a mesh: the right one is the left one with the sign of x changed, so that both agree to the
    /// last bit. Returns the vertex of the mesh for each vertex of the left half.
    /// </summary>
    public int[] AddTo(PolygonMeshBuilder mesh)
    {
        int[] left = new int[Positions.Count], right = new int[Positions.Count];
        for (int v = 0; v < left.Length; v++)
        {
            Vector3d p = Positions[v];
            left[v] = mesh.AddVertex(p);
            right[v] = p.X == 0 ? left[v] : mesh.AddVertex(p with { X = -p.X });
        }

        for (int f = 0; f < Faces.Count; f++)
        {
            mesh.AddFace(Parts[f], [.. Faces[f].Select(v => left[v])]);
            mesh.AddFace(Parts[f], [.. Faces[f].Reverse().Select(v => right[v])]);
        }

        return left;
    }
}
