using AutoPlace.Geometry;

namespace AutoPlace.TemplateBuilder.Cast.Remeshing;

/// <summary>
/// Quads whose strips are cut lengthwise in two: another flow of edges over the same shape, with loops beside those that
/// were there and more or fewer edges along them.
/// </summary>
internal sealed class QuadStrips
{
    private readonly Dictionary<(int, int), int> _middles = [];

    /// <summary>Takes over quads.</summary>
    public QuadStrips(IEnumerable<Vector3d> points, IEnumerable<(string Part, int[] Corners)> quads)
    {
        Points = [.. points];
        Quads = [.. quads];
    }

    /// <summary>The vertices; those that were there first keep their numbers.</summary>
    public List<Vector3d> Points { get; }

    /// <summary>The quads.</summary>
    public List<(string Part, int[] Corners)> Quads { get; private set; }

    /// <summary>Cuts the strip that crosses an edge, through all its quads and on to the other side of each.</summary>
    /// <exception cref="ArgumentException">The strip crosses itself.</exception>
    public void Cut(int a, int b)
    {
        var quadsAt = new Dictionary<(int, int), List<int>>();
        for (int q = 0; q < Quads.Count; q++)
        {
            for (int k = 0; k < 4; k++)
            {
                (int, int) edge = Edge(Quads[q].Corners[k], Quads[q].Corners[(k + 1) % 4]);
                (quadsAt.TryGetValue(edge, out List<int>? at) ? at : quadsAt[edge] = []).Add(q);
            }
        }

        var cut = new Dictionary<int, int>(); // for each quad the number of the side that the strip enters by
        var ahead = new Stack<(int A, int B)>([(a, b)]);
        while (ahead.TryPop(out (int A, int B) edge))
        {
            foreach (int q in quadsAt[Edge(edge.A, edge.B)])
            {
                int[] c = Quads[q].Corners;
                int side = Enumerable.Range(0, 4).First(k => Edge(c[k], c[(k + 1) % 4]) == Edge(edge.A, edge.B));
                if (cut.TryGetValue(q, out int known))
                {
                    if (known % 2 != side % 2)
                    {
                        throw new ArgumentException($"The strip across {a} and {b} crosses itself.");
                    }

                    continue;
                }

                cut.Add(q, side);
                ahead.Push((c[(side + 2) % 4], c[(side + 3) % 4]));
            }
        }

        Quads = [.. Quads.SelectMany((quad, q) => cut.TryGetValue(q, out int side) ? Halves(quad, side) : [quad])];
    }

    /// <summary>True for an edge that nothing was put into.</summary>
    public bool IsWhole(int a, int b) => !_middles.ContainsKey(Edge(a, b));

    /// <summary>A closed line with the vertices that were put into its edges.</summary>
    /// <param name="line">Vertices in sequence.</param>
    public IEnumerable<int> Along(IReadOnlyList<int> line)
    {
        for (int i = 0; i < line.Count; i++)
        {
            yield return line[i];
            foreach (int between in Between(line[i], line[(i + 1) % line.Count]))
            {
                yield return between;
            }
        }
    }

    private IEnumerable<int> Between(int a, int b) =>
        _middles.TryGetValue(Edge(a, b), out int middle) ? [.. Between(a, middle), middle, .. Between(middle, b)] : [];

    private (string Part, int[] Corners)[] Halves((string Part, int[] Corners) quad, int side)
    {
        int[] c = [.. Enumerable.Range(side, 4).Select(k => quad.Corners[k % 4])];
        int near = Middle(c[0], c[1]), far = Middle(c[2], c[3]);
        return [(quad.Part, [c[0], near, far, c[3]]), (quad.Part, [near, c[1], c[2], far])];
    }

    private int Middle(int a, int b)
    {
        if (!_middles.TryGetValue(Edge(a, b), out int middle))
        {
            _middles.Add(Edge(a, b), middle = Points.Count);
            Points.Add((Points[a] + Points[b]) * 0.5);
        }

        return middle;
    }

    private static (int, int) Edge(int a, int b) => a < b ? (a, b) : (b, a);
}
