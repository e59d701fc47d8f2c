using System.Globalization;
using System.Numerics;
using AutoPlace.Geometry;

namespace AutoPlace.TemplateBuilder.Sources;

/// <summary>
/// The mean of the morphable head model (ICT Face Model Light, MIT) in atlas coordinates. The template is shaped after
/// it; none of its vertices is copied.
/// </summary>
internal sealed class MorphableMean
{
    // Vertex ranges of the model, by its own description; the skin is face, head and neck.
    private const int SkinVertices = 11_248;

    private static readonly Vector3d OriginCm = new(0, 3.601585, 7.982299);
    private const double InterocularCm = 6.232908;

    private readonly List<int>[] _neighbours;

    private MorphableMean(Vector3d[] positions, int[][] faces)
    {
        Positions = positions;
        Faces = faces;
        var corners = new List<int>();
        foreach (int[] face in faces)
        {
            if (face.All(v => v < SkinVertices))
            {
                for (int i = 1; i + 1 < face.Length; i++)
                {
                    corners.AddRange([face[0], face[i], face[i + 1]]);
                }
            }
        }

        Skin = new SkinSurface(new TriangleMesh([.. positions.Take(SkinVertices).Select(p => (Vector3)p)], [.. corners]));
        _neighbours = Neighbours(faces);
    }

    /// <summary>All vertices, atlas coordinates.</summary>
    public Vector3d[] Positions { get; }

    /// <summary>All faces, vertex indices.</summary>
    public int[][] Faces { get; }

    /// <summary>Face, head, ears and neck.</summary>
    public SkinSurface Skin { get; }

    /// <summary>Reads the model's folder.</summary>
    public static MorphableMean Load(string folder)
    {
        float[] numbers = NumpyArray.ReadSingle(Path.Combine(folder, "mean_vertices.npy"), 3);
        var positions = new Vector3d[numbers.Length / 3];
        for (int v = 0; v < positions.Length; v++)
        {
            var cm = new Vector3d(numbers[3 * v], numbers[(3 * v) + 1], numbers[(3 * v) + 2]);
            positions[v] = (cm - OriginCm) / InterocularCm;
        }

        int[][] faces =
        [
            .. File.ReadLines(Path.Combine(folder, "topology.obj"))
                .Where(line => line.StartsWith("f ", StringComparison.Ordinal))
                .Select(line => line[2..].Split(' ', StringSplitOptions.RemoveEmptyEntries)
                    .Select(corner => int.Parse(corner.AsSpan(0, corner.IndexOf('/', StringComparison.Ordinal)), NumberStyles.None, CultureInfo.InvariantCulture) - 1)
                    .ToArray()),
        ];
        return new MorphableMean(positions, faces);
    }

    /// <summary>A vertex, by its number in the model.</summary>
    public Vector3d this[int vertex] => Positions[vertex];

    /// <summary>Centre of the box round a range of vertices, the last included.</summary>
    public (Vector3d Low, Vector3d High) Box(int first, int last)
    {
        Vector3d low = Positions[first], high = low;
        for (int v = first + 1; v <= last; v++)
        {
            Vector3d p = Positions[v];
            low = new(Math.Min(low.X, p.X), Math.Min(low.Y, p.Y), Math.Min(low.Z, p.Z));
            high = new(Math.Max(high.X, p.X), Math.Max(high.Y, p.Y), Math.Max(high.Z, p.Z));
        }

        return (low, high);
    }

    /// <summary>
    /// The line along mesh edges through the given vertices (shortest path between each two, Dijkstra 1959).
    /// </summary>
    public Vector3d[] EdgeLine(params ReadOnlySpan<int> through)
    {
        var line = new List<Vector3d> { Positions[through[0]] };
        for (int i = 1; i < through.Length; i++)
        {
            line.AddRange(ShortestPath(through[i - 1], through[i]).Skip(1).Select(v => Positions[v]));
        }

        return [.. line];
    }

    private List<int> ShortestPath(int from, int to)
    {
        var distance = new Dictionary<int, double> { [from] = 0 };
        var previous = new Dictionary<int, int>();
        var queue = new PriorityQueue<int, double>();
        queue.Enqueue(from, 0);
        while (queue.TryDequeue(out int vertex, out double reached) && vertex != to)
        {
            if (reached > distance[vertex])
            {
                continue;
            }

            foreach (int next in _neighbours[vertex])
            {
                double length = reached + Vector3d.Distance(Positions[vertex], Positions[next]);
                if (!distance.TryGetValue(next, out double known) || length < known)
                {
                    distance[next] = length;
                    previous[next] = vertex;
                    queue.Enqueue(next, length);
                }
            }
        }

        var path = new List<int> { to };
        while (path[^1] != from)
        {
            path.Add(previous[path[^1]]);
        }

        path.Reverse();
        return path;
    }

    private List<int>[] Neighbours(int[][] faces)
    {
        var neighbours = new List<int>[Positions.Length];
        for (int v = 0; v < neighbours.Length; v++)
        {
            neighbours[v] = [];
        }

        foreach (int[] face in faces)
        {
            for (int i = 0; i < face.Length; i++)
            {
                int a = face[i], b = face[(i + 1) % face.Length];
                neighbours[a].Add(b);
                neighbours[b].Add(a);
            }
        }

        return neighbours;
    }
}
