using AutoPlace.Geometry;
using CsCheck;
using Xunit;

namespace AutoPlace.Tests.Geometry;

public sealed class EllipsoidFitTests
{
    [Fact]
    public void Exact_points_on_two_thirds_of_an_ellipsoid_are_recovered() =>
        Gen.Int[0, int.MaxValue].Select(Gen.Bool).Sample(
            (seed, aligned) =>
            {
                var random = new Random(seed);
                Vector3d axes = new(3 + random.NextDouble(), 2 + (0.8 * random.NextDouble()), 1 + (0.8 * random.NextDouble()));
                Matrix3d r = aligned ? Matrix3d.Identity : Draw.Rotation(random);
                Vector3d centre = Draw.Point(random) * 10;
                Vector3d[] points = [.. Directions(random, 200, -0.33).Select(u => centre + (r * Scaled(u, axes)))];
                EllipsoidFit? fit = EllipsoidFit.TryFit(points, new EllipsoidFitOptions { AxisAligned = aligned });
                return fit is not null
                    && Vector3d.Distance(fit.Centre, centre) < 1e-6
                    && Vector3d.Distance(fit.HalfAxes, axes) < 1e-6
                    && Math.Abs(fit.Axes.Determinant - 1) < 1e-12
                    && Enumerable.Range(0, 3).All(k => Math.Abs(Math.Abs(Vector3d.Dot(Column(fit.Axes, k), Column(r, k))) - 1) < 1e-6)
                    && fit.ResidualRms < 1e-8;
            },
            seed: "0N0XIzNsQ0O2",
            iter: 100);

    [Fact]
    public void Spread_of_the_centre_is_the_one_reported()
    {
        const int runs = 150;
        var random = new Random(1);
        Vector3d mean = Vector3d.Zero, squares = Vector3d.Zero, reported = Vector3d.Zero;
        for (int run = 0; run < runs; run++)
        {
            Vector3d[] points = [.. Directions(random, 150, 0).Select(u => Scaled(u, new(13, 12, 11)) + (Draw.Point(random) * 0.05))];
            EllipsoidFit fit = EllipsoidFit.TryFit(points)!;
            mean += fit.Centre / runs;
            squares += Scaled(fit.Centre, fit.Centre) / runs;
            reported += new Vector3d(fit.CentreCovariance.Row0.X, fit.CentreCovariance.Row1.Y, fit.CentreCovariance.Row2.Z) / runs;
        }

        for (int axis = 0; axis < 3; axis++)
        {
            // 150 runs: the deviation is known to 1 / sqrt(300) = 6 %, the mean to 1 / sqrt(150) of it.
            double deviation = Math.Sqrt(reported[axis]);
            Assert.Equal(1, Math.Sqrt(squares[axis]) / deviation, 0.2);
            Assert.InRange(Math.Abs(mean[axis]), 0, 4 * deviation / Math.Sqrt(runs));
        }
    }

    [Fact]
    public void Sphere_is_an_ellipsoid_with_equal_axes()
    {
        Vector3d[] points = [.. Directions(new Random(2), 4000, -1).Select(u => u * 5)];
        EllipsoidFit fit = EllipsoidFit.TryFit(points)!;
        Assert.True(Vector3d.Distance(fit.HalfAxes, new(5, 5, 5)) < 1e-9);
        Assert.Equal(1, fit.Coverage, 0.05);
    }

    [Fact]
    public void Outliers_are_resisted()
    {
        var random = new Random(3);
        Vector3d[] points = [.. Directions(random, 300, -0.5).Select(u => Scaled(u, new(3, 2, 1.5)) + (Draw.Point(random) * 0.01))];
        for (int i = 0; i < 45; i++)
        {
            points[i] *= 1.3;
        }

        EllipsoidFit plain = EllipsoidFit.TryFit(points)!, robust = EllipsoidFit.TryFit(points, new EllipsoidFitOptions { Loss = RobustLoss.Tukey })!;
        Assert.InRange(Vector3d.Distance(robust.HalfAxes, new(3, 2, 1.5)), 0, 0.02);
        Assert.True(robust.Centre.Length < plain.Centre.Length);
    }

    [Fact]
    public void Foot_on_an_ellipsoid_is_on_it_and_below_the_point()
    {
        var random = new Random(4);
        Vector3d axes = new(3, 2, 1);
        for (int i = 0; i < 1000; i++)
        {
            Vector3d p = i switch { 0 => Vector3d.Zero, 1 => new(1, 0, 0), 2 => new(0, 0, 5), _ => Draw.Point(random) * 3 };
            Vector3d foot = EllipsoidFitSolver.ClosestOnEllipsoid(p, axes);
            Vector3d mapped = new(foot.X / axes.X, foot.Y / axes.Y, foot.Z / axes.Z);
            Vector3d normal = new(mapped.X / axes.X, mapped.Y / axes.Y, mapped.Z / axes.Z);
            Assert.Equal(1, mapped.Length, 1e-9);
            Assert.Equal(0, Vector3d.Cross(p - foot, normal.Normalized()).Length, 1e-8);

            // No point of a sample of the surface is nearer.
            foreach (Vector3d u in Directions(random, 20, -1))
            {
                Assert.True(Vector3d.Distance(p, Scaled(u, axes)) >= Vector3d.Distance(p, foot) - 1e-9);
            }
        }
    }

    [Fact]
    public void Points_that_fix_no_ellipsoid_give_none()
    {
        Vector3d[] few = [.. Directions(new Random(5), 8, -1)];
        Assert.Null(EllipsoidFit.TryFit(few));
        Vector3d[] circle = [.. Enumerable.Range(0, 20).Select(i => new Vector3d(Math.Cos(i), Math.Sin(i), 0))];
        Assert.Null(EllipsoidFit.TryFit(circle));
    }

    private static Vector3d Scaled(Vector3d a, Vector3d b) => new(a.X * b.X, a.Y * b.Y, a.Z * b.Z);

    private static Vector3d Column(Matrix3d m, int k) => new(m.Row0[k], m.Row1[k], m.Row2[k]);

    /// <summary>Unit vectors above a height.</summary>
    private static IEnumerable<Vector3d> Directions(Random random, int count, double lowest)
    {
        while (count > 0)
        {
            Vector3d u = Draw.Point(random).Normalized();
            if (u.Z >= lowest)
            {
                count--;
                yield return u;
            }
        }
    }
}
