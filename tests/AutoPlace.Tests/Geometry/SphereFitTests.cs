using AutoPlace.Geometry;
using CsCheck;
using Xunit;

namespace AutoPlace.Tests.Geometry;

public sealed class SphereFitTests
{
    [Fact]
    public void Exact_points_are_recovered_from_any_four_that_span_space() =>
        Gen.Int[0, int.MaxValue].Select(Gen.Int[4, 50]).Sample(
            (seed, count) =>
            {
                var random = new Random(seed);
                Vector3d centre = Draw.Point(random) * 10;
                double radius = Math.Exp(Draw.Normal(random));
                Vector3d[] points = [.. Draw.Points(random, count).Select(p => centre + (p.Normalized() * radius))];
                SphereFit fit = SphereFit.TryFit(points)!;
                return Vector3d.Distance(fit.Centre, centre) < 1e-7 * radius && Math.Abs(fit.Radius - radius) < 1e-7 * radius;
            },
            seed: "0N0XIzNsQ0O2",
            iter: 500);

    /// <summary>
    /// Along the axis of a cap of N evenly spread points the centre's standard deviation is, to first order in the noise,
    /// noise sqrt(12 / N) / (1 - cos half angle), since heights on a sphere are uniform. An independent Monte Carlo of
    /// the geometric fit (N = 200, R = 12, noise 0.1; number of runs not known) found the figures given here and no
    /// bias; the algebraic fit is off by 2.197 / .486 / .147 / .034 at 20 / 30 / 40 / 60 degrees.
    /// </summary>
    [Theory]
    [InlineData(20, 0.365, 2.197)]
    [InlineData(30, 0.187, 0.486)]
    [InlineData(40, 0.109, 0.147)]
    [InlineData(60, 0.045, 0.034)]
    [InlineData(90, 0.022, 0)]
    public void Cap_is_fitted_without_bias_and_with_the_spread_that_is_reported(double halfAngle, double external, double algebraicBias)
    {
        const int runs = 400;
        var random = new Random(1);
        double sum = 0, squares = 0, reported = 0;
        for (int run = 0; run < runs; run++)
        {
            SphereFit fit = SphereFit.TryFit(Cap(random, 200, 12, halfAngle, 0.1))!;
            sum += fit.Centre.Z;
            squares += fit.Centre.Z * fit.Centre.Z;
            reported += fit.CentreCovariance.Row2.Z;
        }

        double mean = sum / runs, spread = Math.Sqrt((squares / runs) - (mean * mean));
        double theory = 0.1 * Math.Sqrt(12.0 / 200) / (1 - Math.Cos(halfAngle * Math.PI / 180));

        // A deviation from 400 runs is known to 1 / sqrt(800) = 3.5 %; three of those, and some for the second order.
        Assert.Equal(1, spread / theory, 0.12);
        Assert.Equal(1, Math.Sqrt(reported / runs) / spread, 0.12);
        Assert.Equal(1, external / theory, 0.12);
        Assert.InRange(Math.Abs(mean), 0, (4 * theory / Math.Sqrt(runs)) + (0.02 * algebraicBias));
    }

    /// <summary>
    /// With the radius known the covariance is noise^2 / N times the inverse of the mean of u u^T, which for heights
    /// uniform above h = cos(half angle) is diag((1 - m) / 2, (1 - m) / 2, m) with m = (1 + h + h^2) / 3.
    /// </summary>
    [Theory]
    [InlineData(25)]
    [InlineData(30)]
    [InlineData(40)]
    [InlineData(60)]
    public void Known_radius_helps_on_a_small_cap(double halfAngle)
    {
        const int runs = 400;
        var random = new Random(2);
        double squares = 0, reported = 0;
        for (int run = 0; run < runs; run++)
        {
            SphereFit fit = SphereFit.TryFit(Cap(random, 200, 12, halfAngle, 0.1), new SphereFitOptions { FixedRadius = 12 })!;
            squares += fit.Centre.LengthSquared;
            reported += fit.CentreCovariance.Trace;
            Assert.Equal(12, fit.Radius);
            Assert.Equal(0, fit.RadiusVariance);
        }

        double h = Math.Cos(halfAngle * Math.PI / 180), m = (1 + h + (h * h)) / 3;
        double theory = 0.1 * Math.Sqrt(((1 / m) + (4 / (1 - m))) / 200);
        Assert.Equal(1, Math.Sqrt(squares / runs) / theory, 0.1);
        Assert.Equal(1, Math.Sqrt(reported / runs) / theory, 0.1);
    }

    [Fact]
    public void Prior_of_the_radius_lies_between_known_and_unknown()
    {
        Vector3d[] cap = Cap(new Random(3), 200, 12, 25, 0.1);
        SphereFit free = SphereFit.TryFit(cap)!;
        SphereFit vague = SphereFit.TryFit(cap, new SphereFitOptions { RadiusPrior = (12, 100) })!;
        SphereFit some = SphereFit.TryFit(cap, new SphereFitOptions { RadiusPrior = (12, 0.3) })!;
        SphereFit sure = SphereFit.TryFit(cap, new SphereFitOptions { RadiusPrior = (12, 1e-6) })!;
        SphereFit known = SphereFit.TryFit(cap, new SphereFitOptions { FixedRadius = 12 })!;
        Assert.Equal(free.Radius, vague.Radius, 1e-3);
        Assert.InRange(Math.Abs(some.Radius - 12), 0, Math.Abs(free.Radius - 12));
        Assert.InRange(some.CentreCovariance.Row2.Z, known.CentreCovariance.Row2.Z, free.CentreCovariance.Row2.Z);
        Assert.True(Vector3d.Distance(sure.Centre, known.Centre) < 1e-6);
    }

    [Theory]
    [InlineData(RobustLoss.Huber, 0.05, 0.15)]
    [InlineData(RobustLoss.Tukey, 0.25, 0.05)]
    public void Outliers_are_resisted(RobustLoss loss, double share, double tolerance)
    {
        var random = new Random(4);
        Vector3d[] points = Cap(random, 400, 12, 70, 0.05);
        for (int i = 0; i < share * points.Length; i++)
        {
            points[i] = points[i].Normalized() * (12 + (2 + (2 * random.NextDouble())));
        }

        SphereFit plain = SphereFit.TryFit(points)!, robust = SphereFit.TryFit(points, new SphereFitOptions { Loss = loss })!;
        Assert.InRange(robust.Centre.Length, 0, tolerance);
        Assert.True(robust.Centre.Length < 0.5 * plain.Centre.Length || plain.Centre.Length < tolerance);
        Assert.InRange(Math.Abs(robust.Radius - 12), 0, tolerance * 2);
    }

    [Theory]
    [InlineData(20)]
    [InlineData(60)]
    [InlineData(90)]
    [InlineData(150)]
    [InlineData(180)]
    public void Coverage_of_a_cap_is_its_solid_angle(double halfAngle)
    {
        // Points on a spiral: heights evenly spaced, each turned on by the golden angle.
        const int count = 1000;
        double lowest = Math.Cos(halfAngle * Math.PI / 180);
        Vector3d[] points = [.. Enumerable.Range(0, count).Select(i =>
        {
            double z = 1 - ((i + 0.5) / count * (1 - lowest)), r = Math.Sqrt(1 - (z * z)), phi = i * Math.PI * (3 - Math.Sqrt(5));
            return new Vector3d(r * Math.Cos(phi), r * Math.Sin(phi), z) * 3;
        })];
        Assert.Equal((1 - lowest) / 2, SphereFit.TryFit(points)!.Coverage, 0.001);
    }

    [Fact]
    public void Similarity_carries_the_fit_along()
    {
        var random = new Random(6);
        var map = new SimilarityTransform(2.5, Draw.Rotation(random), new(10, -20, 30));
        Vector3d[] cap = Cap(random, 100, 12, 50, 0.2);
        SphereFit fit = SphereFit.TryFit(cap)!, moved = SphereFit.TryFit([.. cap.Select(map.Apply)])!;
        Assert.True(Vector3d.Distance(map.Apply(fit.Centre), moved.Centre) < 1e-8);
        Assert.Equal(2.5 * fit.Radius, moved.Radius, 1e-8);
        Assert.Equal(2.5 * fit.ResidualRms, moved.ResidualRms, 1e-10);
    }

    [Fact]
    public void Weight_zero_leaves_a_point_out()
    {
        Vector3d[] points = [.. Cap(new Random(7), 50, 2, 90, 0), new(100, 0, 0)];
        double[] weights = [.. Enumerable.Range(0, 51).Select(i => i < 50 ? 1.0 : 0)];
        Assert.True(SphereFit.TryFit(points, weights: weights)!.Centre.Length < 1e-8);
    }

    [Fact]
    public void Points_that_fix_no_sphere_give_none()
    {
        Assert.Null(SphereFit.TryFit([Vector3d.Zero, Vector3d.UnitX, Vector3d.UnitY]));
        Vector3d[] circle = [.. Enumerable.Range(0, 12).Select(i => new Vector3d(Math.Cos(i), Math.Sin(i), 0))];
        Assert.Null(SphereFit.TryFit(circle));
        Assert.Null(SphereFit.TryFit([.. Enumerable.Repeat(Vector3d.UnitX, 9)]));
        Assert.Throws<ArgumentException>(() => SphereFit.TryFit([new(double.NaN, 0, 0)]));
        Assert.Throws<ArgumentException>(() => SphereFit.TryFit(circle, new SphereFitOptions { FixedRadius = -1 }));
        Assert.Throws<ArgumentException>(() => SphereFit.TryFit(circle, new SphereFitOptions { RadiusPrior = (1, 0) }));
        Assert.Throws<ArgumentException>(() => SphereFit.TryFit(circle, weights: [1]));
    }

    /// <summary>Points spread evenly over a cap about +z, with isotropic noise; the sphere's centre is the origin.</summary>
    private static Vector3d[] Cap(Random random, int count, double radius, double halfAngleDegrees, double noise)
    {
        double lowest = Math.Cos(halfAngleDegrees * Math.PI / 180);
        var points = new Vector3d[count];
        for (int i = 0; i < count; i++)
        {
            double z = 1 - (random.NextDouble() * (1 - lowest)), phi = 2 * Math.PI * random.NextDouble(), r = Math.Sqrt(1 - (z * z));
            points[i] = (new Vector3d(r * Math.Cos(phi), r * Math.Sin(phi), z) * radius) + (Draw.Point(random) * noise);
        }

        return points;
    }
}
