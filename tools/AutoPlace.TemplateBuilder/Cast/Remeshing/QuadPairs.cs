using AutoPlace.Geometry;

namespace AutoPlace.TemplateBuilder.Cast.Remeshing;

/// <summary>Quads out of triangles: neighbours are joined, the squarest pairs first; triangles without a partner stay.</summary>
internal static class QuadPairs
{
    // Cosine between the normals of both triangles, at least: an edge along a ridge stays.
    private const double LeastFlatness = 0.94;

    // Sine of the sharpest corner of a quad, at least.
    private const double LeastCorner = 0.5;

    /// <summary>Joins triangles of the same part.</summary>
    /// <returns>Faces of three or four corners, counter-clockwise as the triangles.</returns>
    public static List<(string Part, int[] Corners)> Join(IReadOnlyList<Vector3d> points, IReadOnlyList<(string Part, int[] Corners)> triangles)
    {
        var sides = new Dictionary<(int, int), int>();
        for (int t = 0; t < triangles.Count; t++)
        {
            int[] c = triangles[t].Corners;
            for (int i = 0; i < 3; i++)
            {
                sides[(c[i], c[(i + 1) % 3])] = t;
            }
        }

        bool[] joined = new bool[triangles.Count];
        var faces = new List<(string Part, int[] Corners)>();
        foreach ((int[] quad, int first, int second, _) in sides.Select(Quad).OfType<(int[] Corners, int First, int Second, double Quality)>().OrderByDescending(q => q.Quality))
        {
            if (!joined[first] && !joined[second])
            {
                joined[first] = joined[second] = true;
                faces.Add((triangles[first].Part, quad));
            }
        }

        return [.. faces, .. triangles.Where((_, t) => !joined[t])];

        // Seen once for each edge, from the triangle that comes first.
        (int[], int, int, double)? Quad(KeyValuePair<(int A, int B), int> side)
        {
            (int a, int b) = side.Key;
            if (!sides.TryGetValue((b, a), out int other) || other <= side.Value || triangles[other].Part != triangles[side.Value].Part)
            {
                return null;
            }

            int[] quad = [a, Third(other, a, b), b, Third(side.Value, a, b)];
            double quality = Quality(quad);
            return quality > LeastCorner ? (quad, side.Value, other, quality) : null;
        }

        int Third(int triangle, int a, int b) => Array.Find(triangles[triangle].Corners, v => v != a && v != b);

        // The least sine of a corner; 0 when the quad isn't convex or has a ridge along its diagonal.
        double Quality(int[] quad)
        {
            Vector3d[] p = [.. quad.Select(v => points[v])];
            Vector3d first = Vector3d.Cross(p[1] - p[0], p[2] - p[0]), second = Vector3d.Cross(p[2] - p[0], p[3] - p[0]);
            if (Vector3d.Dot(first, second) < LeastFlatness * first.Length * second.Length)
            {
                return 0;
            }

            Vector3d normal = (first + second).Normalized();
            return Enumerable.Range(0, 4).Min(i =>
            {
                Vector3d into = (p[i] - p[(i + 3) % 4]).Normalized(), outOf = (p[(i + 1) % 4] - p[i]).Normalized();
                return Vector3d.Dot(Vector3d.Cross(into, outOf), normal);
            });
        }
    }
}
