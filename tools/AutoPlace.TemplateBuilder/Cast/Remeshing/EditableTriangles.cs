using System.Numerics;
using AutoPlace.Geometry;

namespace AutoPlace.TemplateBuilder.Cast.Remeshing;

/// <summary>
/// Triangles under change: edges can be split, contracted and turned. Creases are edges that stay on the lines they
/// were on: borders, and edges between parts.
/// </summary>
internal sealed class EditableTriangles
{
    private readonly List<Vector3d> _points = [];
    private readonly List<int[]?> _triangles = [];
    private readonly List<string> _parts = [];
    private readonly List<List<int>> _around = [];
    private readonly List<List<int>> _creases = [];

    /// <param name="mesh">Triangles over shared vertices.</param>
    /// <param name="parts">Part of each triangle.</param>
    public EditableTriangles(TriangleMesh mesh, IReadOnlyList<string> parts)
    {
        foreach (Vector3 p in mesh.Positions)
        {
            AddPoint(p);
        }

        for (int t = 0; t < mesh.TriangleCount; t++)
        {
            AddTriangle([.. mesh.Indices.Slice(3 * t, 3)], parts[t]);
        }

        foreach ((int a, int b) in Edges())
        {
            List<int> sides = Sides(a, b);
            if (sides.Count != 2 || _parts[sides[0]] != _parts[sides[1]])
            {
                _creases[a].Add(b);
                _creases[b].Add(a);
            }
        }
    }

    /// <summary>Number of vertices ever made; those without triangles don't count.</summary>
    public int PointCount => _points.Count;

    public Vector3d this[int vertex]
    {
        get => _points[vertex];
        set => _points[vertex] = value;
    }

    public bool IsCrease(int a, int b) => _creases[a].Contains(b);

    /// <summary>Number of crease edges at a vertex: 0 within a surface, 2 along a line.</summary>
    public int CreaseCount(int vertex) => _creases[vertex].Count;

    public bool IsUsed(int vertex) => _around[vertex].Count > 0;

    /// <summary>All edges, lower vertex first, in the order of the triangles.</summary>
    public List<(int A, int B)> Edges()
    {
        var seen = new HashSet<(int, int)>();
        var edges = new List<(int, int)>();
        foreach (int[]? triangle in _triangles)
        {
            for (int i = 0; triangle is not null && i < 3; i++)
            {
                int a = triangle[i], b = triangle[(i + 1) % 3];
                (int, int) edge = a < b ? (a, b) : (b, a);
                if (seen.Add(edge))
                {
                    edges.Add(edge);
                }
            }
        }

        return edges;
    }

    /// <summary>Vertices that share an edge with a vertex.</summary>
    public List<int> Neighbours(int vertex)
    {
        var neighbours = new List<int>();
        foreach (int t in _around[vertex])
        {
            foreach (int other in _triangles[t]!)
            {
                if (other != vertex && !neighbours.Contains(other))
                {
                    neighbours.Add(other);
                }
            }
        }

        return neighbours;
    }

    /// <summary>Triangles that contain both vertices.</summary>
    public List<int> Sides(int a, int b) => _around[a].FindAll(t => Array.IndexOf(_triangles[t]!, b) >= 0);

    public List<int> Around(int vertex) => _around[vertex];

    public int[] Triangle(int triangle) => _triangles[triangle]!;

    /// <summary>The corner of a triangle that is neither of two others.</summary>
    public int Opposite(int triangle, int a, int b) => Array.Find(_triangles[triangle]!, v => v != a && v != b);

    /// <summary>Twice the vector area of a triangle, with one vertex moved.</summary>
    public Vector3d Area(int triangle, int moved = -1, Vector3d to = default)
    {
        int[] t = _triangles[triangle]!;
        Vector3d a = t[0] == moved ? to : _points[t[0]], b = t[1] == moved ? to : _points[t[1]], c = t[2] == moved ? to : _points[t[2]];
        return Vector3d.Cross(b - a, c - a);
    }

    /// <summary>Sum of the vector areas round a vertex, of length 1.</summary>
    public Vector3d Normal(int vertex)
    {
        Vector3d sum = Vector3d.Zero;
        foreach (int t in _around[vertex])
        {
            sum += Area(t);
        }

        return sum.Normalized();
    }

    /// <summary>Puts a vertex into an edge and returns it.</summary>
    public int Split(int a, int b, Vector3d at)
    {
        int middle = AddPoint(at);
        foreach (int t in Sides(a, b))
        {
            int[] corners = _triangles[t]!;
            int[] other = [.. corners.Select(v => v == a ? middle : v)];
            _triangles[t] = [.. corners.Select(v => v == b ? middle : v)];
            _around[b].Remove(t);
            _around[middle].Add(t);
            AddTriangle(other, _parts[t]);
        }

        if (IsCrease(a, b))
        {
            Replace(_creases[a], b, middle);
            Replace(_creases[b], a, middle);
            _creases[middle].AddRange([a, b]);
        }

        return middle;
    }

    /// <summary>Draws an edge together into one of its ends.</summary>
    public void Collapse(int keep, int gone, Vector3d at)
    {
        foreach (int t in Sides(keep, gone))
        {
            foreach (int v in _triangles[t]!)
            {
                _around[v].Remove(t);
            }

            _triangles[t] = null;
        }

        foreach (int t in _around[gone])
        {
            Replace(_triangles[t]!, gone, keep);
            _around[keep].Add(t);
        }

        _around[gone].Clear();
        foreach (int other in _creases[gone])
        {
            _creases[other].Remove(gone);
            if (other != keep && !_creases[other].Contains(keep))
            {
                _creases[other].Add(keep);
                _creases[keep].Add(other);
            }
        }

        _creases[gone].Clear();
        _points[keep] = at;
    }

    /// <summary>Turns the edge between two triangles: afterwards it joins the corners that faced it.</summary>
    public void Turn(int a, int b)
    {
        List<int> sides = Sides(a, b);
        int c = Opposite(sides[0], a, b), d = Opposite(sides[1], a, b);

        // The first triangle keeps a and takes d for b, the second keeps b and takes c for a.
        Replace(_triangles[sides[0]]!, b, d);
        Replace(_triangles[sides[1]]!, a, c);
        _around[b].Remove(sides[0]);
        _around[d].Add(sides[0]);
        _around[a].Remove(sides[1]);
        _around[c].Add(sides[1]);
    }

    /// <summary>The triangles that are left, by part, over the vertices in use.</summary>
    public (Vector3d[] Points, List<(string Part, int[] Corners)> Triangles) Result()
    {
        int[] renumbered = new int[_points.Count];
        var points = new List<Vector3d>();
        for (int v = 0; v < renumbered.Length; v++)
        {
            renumbered[v] = points.Count;
            if (IsUsed(v))
            {
                points.Add(_points[v]);
            }
        }

        var triangles = new List<(string, int[])>();
        for (int t = 0; t < _triangles.Count; t++)
        {
            if (_triangles[t] is { } corners)
            {
                triangles.Add((_parts[t], [.. corners.Select(v => renumbered[v])]));
            }
        }

        return ([.. points], triangles);
    }

    private int AddPoint(Vector3d point)
    {
        _points.Add(point);
        _around.Add([]);
        _creases.Add([]);
        return _points.Count - 1;
    }

    private void AddTriangle(int[] corners, string part)
    {
        foreach (int v in corners)
        {
            _around[v].Add(_triangles.Count);
        }

        _triangles.Add(corners);
        _parts.Add(part);
    }

    private static void Replace(IList<int> list, int from, int to) => list[list.IndexOf(from)] = to;
}
