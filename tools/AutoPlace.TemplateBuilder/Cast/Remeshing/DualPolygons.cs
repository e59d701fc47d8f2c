using AutoPlace.Geometry;

namespace AutoPlace.TemplateBuilder.Cast.Remeshing;

/// <summary>
/// The dual of triangles: a vertex in each triangle, a polygon round each vertex, mostly of six corners. Along borders
/// and lines between parts the vertices and the middles of the edges stay.
/// </summary>
internal sealed class DualPolygons
{
    private readonly IReadOnlyList<Vector3d> _triangleVertices;
    private readonly IReadOnlyList<(string Part, int[] Corners)> _triangles;
    private readonly Dictionary<(int A, int B), int> _sides = [];
    private readonly List<Vector3d> _points = [];
    private readonly Dictionary<(int, int), int> _middles = [];
    private readonly Dictionary<int, int> _corners = [];

    private DualPolygons(IReadOnlyList<Vector3d> points, IReadOnlyList<(string Part, int[] Corners)> triangles, Func<Vector3d, Vector3d, Vector3d> laid)
    {
        _triangleVertices = points;
        _triangles = triangles;
        for (int t = 0; t < triangles.Count; t++)
        {
            int[] c = triangles[t].Corners;
            for (int i = 0; i < 3; i++)
            {
                _sides[(c[i], c[(i + 1) % 3])] = t;
            }

            Vector3d normal = Vector3d.Cross(points[c[1]] - points[c[0]], points[c[2]] - points[c[0]]).Normalized();
            _points.Add(laid((points[c[0]] + points[c[1]] + points[c[2]]) / 3, normal));
        }
    }

    /// <summary>Builds the dual.</summary>
    /// <param name="points">Vertices of the triangles.</param>
    /// <param name="triangles">The triangles: a surface on which at most two meet at an edge.</param>
    /// <param name="laid">From a triangle's centroid and unit normal to the vertex that stands for it.</param>
    public static (Vector3d[] Points, List<(string Part, int[] Corners)> Polygons) Of(
        IReadOnlyList<Vector3d> points, IReadOnlyList<(string Part, int[] Corners)> triangles, Func<Vector3d, Vector3d, Vector3d> laid)
    {
        var dual = new DualPolygons(points, triangles, laid);
        List<(string, int[])> polygons = dual.Polygons();
        return ([.. dual._points], polygons);
    }

    private List<(string Part, int[] Corners)> Polygons()
    {
        var polygons = new List<(string, int[])>();
        bool[] used = new bool[3 * _triangles.Count];
        for (int corner = 0; corner < used.Length; corner++)
        {
            if (!used[corner])
            {
                polygons.Add((_triangles[corner / 3].Part, Round(corner, used)));
            }
        }

        return polygons;
    }

    // The fan of triangles that holds a triangle's corner, from one line or border to the next, or all the way round.
    private int[] Round(int corner, bool[] used)
    {
        int vertex = _triangles[corner / 3].Corners[corner % 3];
        int first = corner / 3;
        while (Previous(first) is { } before && before != corner / 3)
        {
            first = before;
        }

        bool closed = Previous(first) is not null;
        var fan = new List<int> { first };
        while (Next(fan[^1]) is { } after && after != first)
        {
            fan.Add(after);
        }

        foreach (int t in fan)
        {
            used[(3 * t) + Array.IndexOf(_triangles[t].Corners, vertex)] = true;
        }

        return closed ? [.. fan] : [Kept(vertex), Middle(vertex, After(first)), .. fan, Middle(vertex, Before(fan[^1]))];

        int After(int t) => _triangles[t].Corners[(Array.IndexOf(_triangles[t].Corners, vertex) + 1) % 3];
        int Before(int t) => _triangles[t].Corners[(Array.IndexOf(_triangles[t].Corners, vertex) + 2) % 3];
        int? Previous(int t) => Across(After(t), vertex, t);
        int? Next(int t) => Across(vertex, Before(t), t);
    }

    private int? Across(int from, int to, int triangle) =>
        _sides.TryGetValue((from, to), out int other) && _triangles[other].Part == _triangles[triangle].Part ? other : null;

    private int Kept(int vertex) => Added(_corners, vertex, _triangleVertices[vertex]);

    private int Middle(int a, int b) => Added(_middles, a < b ? (a, b) : (b, a), (_triangleVertices[a] + _triangleVertices[b]) * 0.5);

    private int Added<T>(Dictionary<T, int> known, T key, Vector3d point)
        where T : notnull
    {
        if (!known.TryGetValue(key, out int index))
        {
            known.Add(key, index = _points.Count);
            _points.Add(point);
        }

        return index;
    }
}
