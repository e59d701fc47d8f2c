using System.Numerics;
using AutoPlace.Geometry;

namespace AutoPlace.Conditioning;

/// <summary>The plane that a head is most nearly symmetric about.</summary>
/// <param name="Normal">Unit normal, towards the subject's left.</param>
/// <param name="Offset">Distance of the plane from the origin along the normal.</param>
/// <param name="Asymmetry">Root mean square distance of the mirrored surface from the surface, the worst third of the points left out.</param>
public sealed record MidsagittalPlane(Vector3d Normal, double Offset, double Asymmetry)
{
    private const int Rounds = 12;

    /// <summary>A step that moves no compared point by more than this is the last, share of the reach.</summary>
    private const double Converged = 1e-5;

    private const int FewestPairs = 50;

    /// <summary>One of so many points leads near the plane, before all of them are compared.</summary>
    private const int FewOf = 4;

    /// <summary>Single precision's part in a bound on a distance, share and mesh units.</summary>
    private const double Margin = 1e-5;

    /// <summary>Share of the points that take part; the rest (a lock of hair, an ear-ring) is left out.</summary>
    private const double KeptShare = 2.0 / 3;

    /// <summary>Mirrors a point.</summary>
    public Vector3d Mirror(Vector3d point) => point - (Normal * (2 * (Vector3d.Dot(Normal, point) - Offset)));

    /// <summary>
    /// Trimmed iterative closest points of the surface and its mirror image (after Pears and Duncan 2016,
    /// arXiv 1601.05593), but with distances measured to the tangent plane at the closest point (Chen and Medioni
    /// 1992), which lets the two slide along each other and needs few rounds.
    /// </summary>
    /// <param name="surface">The surface.</param>
    /// <param name="points">Points on it to compare; an order-independent choice keeps the result so.</param>
    /// <param name="normal">First guess of the normal.</param>
    /// <param name="offset">First guess of the offset.</param>
    /// <param name="reach">Pairs farther apart than this are no pairs, mesh unit.</param>
    /// <returns>The plane; the first guess, with infinite asymmetry, when fewer than 50 pairs are found.</returns>
    public static MidsagittalPlane Fit(
        BoundingVolumeHierarchy surface, IReadOnlyList<Vector3d> points, Vector3d normal, double offset, double reach)
    {
        ArgumentNullException.ThrowIfNull(surface);
        ArgumentNullException.ThrowIfNull(points);
        var guess = new MidsagittalPlane(normal.Normalized(), offset, double.PositiveInfinity);
        Vector3d[] few = [.. points.Where((_, i) => i % FewOf == 0)];
        return guess.Refined(surface, few, reach).Refined(surface, points, reach);
    }

    // Rounds until the plane rests.
    private MidsagittalPlane Refined(BoundingVolumeHierarchy surface, IReadOnlyList<Vector3d> points, double reach)
    {
        MidsagittalPlane plane = this;
        var found = new Pair?[points.Count];
        MidsagittalPlane earlier = plane;
        for (int round = 0; round < Rounds; round++)
        {
            // Each pair depends on its point alone, so the result doesn't depend on the number of threads.
            (MidsagittalPlane mirror, MidsagittalPlane before) = (plane, earlier);
            earlier = plane;
            Parallel.For(0, found.Length, i => found[i] = mirror.PairOf(points[i], surface, Math.Min(reach, mirror.Bound(points[i], found[i], before))));
            Pair[] pairs = [.. found.OfType<Pair>()];
            if (pairs.Length < FewestPairs)
            {
                return plane;
            }

            double[] distances = Array.ConvertAll(pairs, pair => pair.Distance);
            Array.Sort(distances);
            double kept = distances[(int)(pairs.Length * KeptShare)];
            plane = mirror.Step(Array.FindAll(pairs, pair => pair.Distance <= kept));
            if (plane.LargestMove(mirror, points) < Converged * reach)
            {
                break;
            }
        }

        return plane;
    }

    // The surface is no farther from a mirrored point than before, plus what the point has moved: a short search.
    private double Bound(Vector3d point, Pair? found, MidsagittalPlane before) =>
        found is { } pair ? (pair.Distance + Vector3d.Distance(Mirror(point), before.Mirror(point))) * (1 + Margin) : double.PositiveInfinity;

    private Pair? PairOf(Vector3d point, BoundingVolumeHierarchy surface, double reach)
    {
        SurfaceProximity near = surface.ClosestPoint((Vector3)Mirror(point), (float)(reach + Margin));
        if (!near.IsFound)
        {
            return null;
        }

        (Vector3 a, Vector3 b, Vector3 c) = surface.Mesh.Corners(near.Point.Triangle);
        return new Pair(near.Distance, point, near.Position, Vector3d.Cross((Vector3d)b - a, (Vector3d)c - a).Normalized());
    }

    // How far apart two planes mirror the same points.
    private double LargestMove(MidsagittalPlane other, IReadOnlyList<Vector3d> points)
    {
        double largest = 0;
        foreach (Vector3d p in points)
        {
            largest = Math.Max(largest, (Mirror(p) - other.Mirror(p)).LengthSquared);
        }

        return Math.Sqrt(largest);
    }

    // One Gauss-Newton step in two tilts of the normal and the offset.
    private MidsagittalPlane Step(ReadOnlySpan<Pair> pairs)
    {
        Vector3d u = Vector3d.Cross(Normal, Math.Abs(Normal.Y) < 0.7 ? Vector3d.UnitY : Vector3d.UnitX).Normalized();
        Vector3d v = Vector3d.Cross(Normal, u);

        // Offsets are measured from a point amid the pairs, so that tilts and offset hardly mix.
        Vector3d middle = Vector3d.Zero;
        double squares = 0;
        foreach (Pair pair in pairs)
        {
            middle += pair.P / pairs.Length;
            squares += pair.Distance * pair.Distance / pairs.Length;
        }

        var matrix = default(Matrix3d);
        Vector3d right = Vector3d.Zero;
        foreach (Pair pair in pairs)
        {
            double across = Vector3d.Dot(Normal, pair.P) - Offset;
            double along = Vector3d.Dot(pair.Tangent, Normal);
            Vector3d p = pair.P - middle;
            var row = new Vector3d(
                -2 * ((Vector3d.Dot(u, p) * along) + (across * Vector3d.Dot(pair.Tangent, u))),
                -2 * ((Vector3d.Dot(v, p) * along) + (across * Vector3d.Dot(pair.Tangent, v))),
                2 * along);
            matrix += Matrix3d.Outer(row, row);
            right += row * Vector3d.Dot(pair.Tangent, pair.Q - Mirror(pair.P));
        }

        double asymmetry = Math.Sqrt(squares);
        matrix += Matrix3d.Identity * (1e-9 * matrix.Trace);
        if (!(matrix.Determinant > 0))
        {
            return this with { Asymmetry = asymmetry };
        }

        Vector3d step = matrix.Inverse() * right;
        Vector3d normal = (Normal + (u * step.X) + (v * step.Y)).Normalized();
        double offset = Offset - Vector3d.Dot(Normal, middle) + step.Z + Vector3d.Dot(normal, middle);
        return new MidsagittalPlane(normal, offset, asymmetry);
    }

    private readonly record struct Pair(double Distance, Vector3d P, Vector3d Q, Vector3d Tangent);
}
