using AutoPlace.Geometry;

namespace AutoPlace.Verification;

/// <summary>
/// The curve through the joints of a row: Catmull-Rom with centripetal knots (Yuksel, Schaefer and Keyser 2011), which
/// makes neither loops nor cusps within a span. Ends are continued by mirroring their neighbour.
/// </summary>
internal static class CentripetalCatmullRom
{
    /// <summary>Joints that coincide are kept this far apart in the knots, so that nothing is divided by zero.</summary>
    private const double SmallestKnotStep = 1e-9;

    /// <summary>A point of the span from <paramref name="span"/> to the next joint.</summary>
    /// <param name="points">At least two points of the row.</param>
    /// <param name="closed">True when the last point is followed by the first.</param>
    /// <param name="span">Number of the span.</param>
    /// <param name="t">0 at its first point, 1 at its last.</param>
    internal static Vector3d Point(ReadOnlySpan<Vector3d> points, bool closed, int span, double t)
    {
        int n = points.Length;
        Vector3d p1 = points[span];
        Vector3d p2 = points[(span + 1) % n];
        Vector3d p0 = span > 0 ? points[span - 1] : closed ? points[n - 1] : (p1 * 2) - p2;
        Vector3d p3 = span + 2 < n ? points[span + 2] : closed ? points[(span + 2) % n] : (p2 * 2) - p1;
        return Point(p0, p1, p2, p3, t);
    }

    // Pyramid of Barry and Goldman 1988; knots are sums of square roots of the distances.
    private static Vector3d Point(Vector3d p0, Vector3d p1, Vector3d p2, Vector3d p3, double t)
    {
        double t1 = KnotStep(p0, p1);
        double t2 = t1 + KnotStep(p1, p2);
        double t3 = t2 + KnotStep(p2, p3);
        double at = t1 + (t * (t2 - t1));
        Vector3d a1 = Vector3d.Lerp(p0, p1, at / t1);
        Vector3d a2 = Vector3d.Lerp(p1, p2, (at - t1) / (t2 - t1));
        Vector3d a3 = Vector3d.Lerp(p2, p3, (at - t2) / (t3 - t2));
        Vector3d b1 = Vector3d.Lerp(a1, a2, at / t2);
        Vector3d b2 = Vector3d.Lerp(a2, a3, (at - t1) / (t3 - t1));
        return Vector3d.Lerp(b1, b2, (at - t1) / (t2 - t1));
    }

    private static double KnotStep(Vector3d a, Vector3d b) => Math.Max(SmallestKnotStep, Math.Sqrt(Vector3d.Distance(a, b)));
}
