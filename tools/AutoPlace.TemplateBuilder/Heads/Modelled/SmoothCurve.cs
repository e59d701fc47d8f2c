using AutoPlace.Geometry;

namespace AutoPlace.TemplateBuilder.Heads.Modelled;

/// <summary>Centripetal Catmull-Rom curves (Catmull and Rom 1974, Yuksel et al. 2011) through points.</summary>
internal static class SmoothCurve
{
    /// <summary>Points of a closed curve: <paramref name="steps"/> for each span, the first at the first point.</summary>
    public static Vector3d[] Closed(IReadOnlyList<Vector3d> points, int steps)
    {
        int n = points.Count;
        return
        [
            .. from span in Enumerable.Range(0, n)
               from step in Enumerable.Range(0, steps)
               select At(points[(span + n - 1) % n], points[span], points[(span + 1) % n], points[(span + 2) % n], (double)step / steps),
        ];
    }

    /// <summary>Points of an open curve, both ends included; the ends go on straight.</summary>
    public static Vector3d[] Open(IReadOnlyList<Vector3d> points, int steps)
    {
        Vector3d[] padded = [(points[0] * 2) - points[1], .. points, (points[^1] * 2) - points[^2]];
        return
        [
            .. from span in Enumerable.Range(0, points.Count - 1)
               from step in Enumerable.Range(0, steps)
               select At(padded[span], padded[span + 1], padded[span + 2], padded[span + 3], (double)step / steps),
            points[^1],
        ];
    }

    private static Vector3d At(Vector3d p0, Vector3d p1, Vector3d p2, Vector3d p3, double t)
    {
        double t1 = Knot(p0, p1), t2 = t1 + Knot(p1, p2), t3 = t2 + Knot(p2, p3);
        double s = t1 + ((t2 - t1) * t);
        Vector3d a1 = Blend(p0, p1, 0, t1), a2 = Blend(p1, p2, t1, t2), a3 = Blend(p2, p3, t2, t3);
        Vector3d b1 = Blend(a1, a2, 0, t2), b2 = Blend(a2, a3, t1, t3);
        return Blend(b1, b2, t1, t2);

        Vector3d Blend(Vector3d a, Vector3d b, double from, double to) => Vector3d.Lerp(a, b, (s - from) / (to - from));
    }

    private static double Knot(Vector3d a, Vector3d b) => Math.Sqrt(Math.Max(Vector3d.Distance(a, b), 1e-9));
}
