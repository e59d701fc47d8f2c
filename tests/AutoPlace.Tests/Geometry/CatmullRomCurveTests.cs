using AutoPlace.Geometry;
using CsCheck;
using Xunit;

namespace AutoPlace.Tests.Geometry;

public sealed class CatmullRomCurveTests
{
    [Fact]
    public void Curve_goes_through_its_points_with_one_direction() =>
        Gen.Int[0, int.MaxValue].Select(Gen.Int[1, 12], Gen.Bool).Sample(
            (seed, count, closed) =>
            {
                Vector3d[] points = Draw.Points(new Random(seed), count);
                var curve = new CatmullRomCurve(points, closed);
                bool meets = Enumerable.Range(0, count).All(i => Vector3d.Distance(curve.Position(i), points[i]) < 1e-13);
                int first = curve.IsClosed ? 0 : 1;
                bool smooth = Enumerable.Range(first, Math.Max(0, curve.SpanCount - first)).All(i =>
                {
                    Vector3d before = curve.Tangent(curve.IsClosed && i == 0 ? curve.SpanCount - 1e-9 : i - 1e-9);
                    return Vector3d.Dot(before, curve.Tangent(i)) > 1 - 1e-9;
                });
                return meets && smooth;
            },
            seed: "0N0XIzNsQ0O2",
            iter: 300);

    [Fact]
    public void Curve_equals_the_pyramid_of_Barry_and_Goldman()
    {
        Vector3d[] p = Draw.Points(new Random(2), 4);
        var curve = new CatmullRomCurve(p);
        double[] knots = [0, 0, 0, 0];
        for (int i = 0; i < 3; i++)
        {
            knots[i + 1] = knots[i] + Math.Sqrt(Vector3d.Distance(p[i], p[i + 1]));
        }

        for (double f = 0; f <= 1; f += 0.125)
        {
            double t = knots[1] + (f * (knots[2] - knots[1]));
            Vector3d Mix(Vector3d a, Vector3d b, int from, int to) => Vector3d.Lerp(a, b, (t - knots[from]) / (knots[to] - knots[from]));
            Vector3d a0 = Mix(p[0], p[1], 0, 1), a1 = Mix(p[1], p[2], 1, 2), a2 = Mix(p[2], p[3], 2, 3);
            Vector3d truth = Mix(Mix(a0, a1, 0, 2), Mix(a1, a2, 1, 3), 1, 2);
            Assert.True(Vector3d.Distance(truth, curve.Position(1 + f)) < 1e-13);
        }
    }

    [Fact]
    public void Collinear_points_give_a_straight_line_run_through_forwards()
    {
        Vector3d[] points = [new(0, 0, 0), new(1, 2, 0), new(4, 8, 0), new(4.5, 9, 0)];
        var curve = new CatmullRomCurve(points);
        Vector3d direction = points[3].Normalized();
        for (double t = 0; t <= 3; t += 0.05)
        {
            Assert.Equal(0, Vector3d.Cross(curve.Position(t), direction).Length, 1e-12);
            Assert.True(Vector3d.Dot(curve.Tangent(t), direction) > 1 - 1e-12);
        }

        Assert.Equal(points[3].Length, curve.Length(0, 3), 1e-3);
    }

    [Fact]
    public void Circle_of_points_is_nearly_a_circle()
    {
        const int n = 16;
        Vector3d[] points = [.. Enumerable.Range(0, n).Select(i => new Vector3d(Math.Cos(2 * Math.PI * i / n), Math.Sin(2 * Math.PI * i / n), 0))];
        var curve = new CatmullRomCurve(points, isClosed: true);
        Assert.Equal(n, curve.SpanCount);
        Assert.Equal(2 * Math.PI, curve.Length(0, n), 1e-3 * 2 * Math.PI);
        Assert.Equal(1, curve.Position(3.5).Length, 1e-3);
        Assert.True(Vector3d.Distance(curve.Position(n + 0.25), curve.Position(0.25)) < 1e-12);
    }

    [Fact]
    public void Derivative_equals_differences()
    {
        var curve = new CatmullRomCurve(Draw.Points(new Random(3), 6), isClosed: true);
        for (double t = 0.05; t < 6; t += 0.1)
        {
            Vector3d difference = (curve.Position(t + 1e-6) - curve.Position(t - 1e-6)) / 2e-6;
            Assert.True(Vector3d.Distance(difference, curve.Derivative(t)) < 1e-7);
        }
    }

    [Fact]
    public void Coincident_and_single_points_are_defined()
    {
        var single = new CatmullRomCurve([new(1, 2, 3)], isClosed: true);
        Assert.Equal(new Vector3d(1, 2, 3), single.Position(7));
        Assert.Equal(Vector3d.Zero, single.Tangent(0));
        var twice = new CatmullRomCurve([new(0, 0, 0), new(1, 0, 0), new(1, 0, 0), new(1, 1, 0)]);
        Assert.Equal(new Vector3d(1, 0, 0), twice.Position(1.5));
        Assert.Equal(Vector3d.UnitX, twice.Tangent(0.5));
        Assert.Equal(Vector3d.UnitY, twice.Tangent(2.5));
        Assert.Throws<ArgumentException>(() => new CatmullRomCurve([]));
        Assert.Throws<ArgumentException>(() => new CatmullRomCurve([new(double.NaN, 0, 0)]));
    }
}
