using System.Numerics;

namespace AutoPlace.Geometry;

/// <summary>How far a similarity may settle from where it began.</summary>
/// <param name="LeastAlignment">Cosine of the largest turn.</param>
/// <param name="FarthestPlace">How far a point may be moved, units of the surface.</param>
/// <param name="MostScaling">Largest change of the scale's logarithm.</param>
public readonly record struct SettlingLimits(double LeastAlignment, double FarthestPlace, double MostScaling)
{
    /// <summary>True when a similarity keeps to these.</summary>
    /// <param name="start">Where it began.</param>
    /// <param name="rest">Where it settled.</param>
    /// <param name="middle">The point that may move so far, before either.</param>
    public bool Hold(SimilarityTransform start, SimilarityTransform rest, Vector3d middle)
    {
        ArgumentNullException.ThrowIfNull(start);
        ArgumentNullException.ThrowIfNull(rest);
        return (rest.Rotation * start.Rotation.Transposed()).Trace >= 1 + (2 * LeastAlignment)
            && Vector3d.Distance(start.Apply(middle), rest.Apply(middle)) <= FarthestPlace
            && Math.Abs(Math.Log(rest.Scale / start.Scale)) <= MostScaling;
    }
}

/// <summary>
/// The similarity that lays points closest on a surface: a local minimum of a robust sum of squared distances, by
/// Gauss-Newton steps on the distances along the lines to the closest points (Chen and Medioni 1992, "Object modelling by
/// registration of multiple range images", with the weights of Geman and McClure 1987, both from memory). Where it comes
/// to rest depends on points and surface alone, not on the start, as long as that lies in the same valley.
/// </summary>
public static class ClosestSimilarity
{
    private const int Unknowns = 7, MostRounds = 60, Block = 64;

    /// <summary>Below this distance a triangle's normal tells the direction better, units of the surface.</summary>
    private const double Touching = 1e-6;

    /// <summary>At rest when a round moves by less: units of the surface, radians, shares of the scale. Single precision of the surface.</summary>
    private const double AtRest = 3e-8;

    /// <summary>Rounding of a distance in single precision, with room to spare.</summary>
    private const double Slack = 1e-5;

    /// <summary>
    /// Lays points on a surface. Costs about ten closest points for each of them; the same for any number of threads.
    /// </summary>
    /// <param name="points">N points.</param>
    /// <param name="surface">The surface.</param>
    /// <param name="start">From the points to the surface's frame, nearly.</param>
    /// <param name="halfTrust">Distance at which a point's trust has dropped to a half, units of the points, positive.</param>
    /// <returns>The similarity, and the mean trust in [0, 1]; null when the surface leaves a direction open.</returns>
    public static (SimilarityTransform Similarity, double Trust)? Settle(
        IReadOnlyList<Vector3d> points, BoundingVolumeHierarchy surface, SimilarityTransform start, double halfTrust)
    {
        ArgumentNullException.ThrowIfNull(points);
        ArgumentNullException.ThrowIfNull(surface);
        ArgumentNullException.ThrowIfNull(start);
        ArgumentOutOfRangeException.ThrowIfNegativeOrZero(halfTrust);
        SimilarityTransform pose = start;
        double[] reach = new double[points.Count], step = new double[Unknowns];
        Array.Fill(reach, double.PositiveInfinity);
        double trust = 0;
        for (int round = 0; round < MostRounds; round++)
        {
            (BlockedCholesky? equations, trust) = Equations(points, surface, pose, halfTrust, reach, step);
            if (equations is null)
            {
                return null;
            }

            equations.Solve(step);
            SimilarityTransform moved = Moved(pose, step);
            for (int i = 0; i < reach.Length; i++)
            {
                reach[i] += Vector3d.Distance(pose.Apply(points[i]), moved.Apply(points[i]));
            }

            pose = moved;
            if (step.All(s => Math.Abs(s) < AtRest))
            {
                break;
            }
        }

        return (pose, trust);
    }

    // Factored normal equations for turn, shift and logarithm of the scale; their right side replaces the step. No closest
    // point lies farther than within reach; the new distances become it.
    private static (BlockedCholesky? Factor, double Trust) Equations(
        IReadOnlyList<Vector3d> points, BoundingVolumeHierarchy surface, SimilarityTransform pose, double halfTrust, double[] reach, double[] step)
    {
        double[][] sums = new double[(points.Count + Block - 1) / Block][];
        Parallel.For(0, sums.Length, block =>
        {
            double[] sum = sums[block] = new double[(Unknowns * Unknowns) + Unknowns + 1];
            for (int p = block * Block; p < Math.Min(points.Count, (block + 1) * Block); p++)
            {
                reach[p] = Add(points[p], surface, pose, halfTrust, reach[p], sum);
            }
        });
        var matrix = new SymmetricMatrix(Unknowns);
        Array.Clear(step);
        double trust = 0;
        foreach (double[] sum in sums)
        {
            trust += sum[^1];
            for (int i = 0; i < Unknowns; i++)
            {
                step[i] -= sum[(Unknowns * Unknowns) + i];
                Span<double> row = matrix.Row(i);
                for (int j = 0; j <= i; j++)
                {
                    row[j] += sum[(Unknowns * i) + j];
                }
            }
        }

        return (BlockedCholesky.TryFactor(matrix), trust / points.Count);
    }

    // Adds a point's share to matrix, right side and trust; returns how far the surface is from it.
    private static double Add(
        Vector3d point, BoundingVolumeHierarchy surface, SimilarityTransform pose, double halfTrust, double reach, Span<double> sum)
    {
        Vector3d arm = (pose.Rotation * point) * pose.Scale, at = arm + pose.Translation;
        SurfaceProximity near = surface.ClosestPoint((Vector3)at, (float)((reach * (1 + Slack)) + Slack));
        Vector3d apart = at - near.Position;
        double distance = apart.Length, share = distance / (halfTrust * pose.Scale);
        Vector3d normal = distance > Touching ? apart / distance : Normal(surface.Mesh, near.Point.Triangle);
        double trust = 1 / (1 + (share * share));
        Vector3d turn = Vector3d.Cross(arm, normal);
        ReadOnlySpan<double> slope = [turn.X, turn.Y, turn.Z, normal.X, normal.Y, normal.Z, Vector3d.Dot(arm, normal)];
        double residual = Vector3d.Dot(apart, normal);
        for (int i = 0; i < Unknowns; i++)
        {
            double weighted = trust * trust * slope[i];
            sum[(Unknowns * Unknowns) + i] += weighted * residual;
            for (int j = 0; j <= i; j++)
            {
                sum[(Unknowns * i) + j] += weighted * slope[j];
            }
        }

        sum[^1] += trust;
        return distance;
    }

    private static SimilarityTransform Moved(SimilarityTransform pose, double[] step)
    {
        var turn = new Vector3d(step[0], step[1], step[2]);
        Matrix3d axes = pose.Rotation.Transposed();
        Vector3d left = (axes.Row0 + Vector3d.Cross(turn, axes.Row0)).Normalized(), up = axes.Row1 + Vector3d.Cross(turn, axes.Row1);
        up = (up - (left * Vector3d.Dot(left, up))).Normalized();
        return new SimilarityTransform(
            pose.Scale * Math.Exp(step[6]),
            Matrix3d.FromColumns(left, up, Vector3d.Cross(left, up)),
            pose.Translation + new Vector3d(step[3], step[4], step[5]));
    }

    private static Vector3d Normal(TriangleMesh mesh, int triangle)
    {
        (Vector3 a, Vector3 b, Vector3 c) = mesh.Corners(triangle);
        return ((Vector3d)Vector3.Cross(b - a, c - a)).Normalized();
    }
}
