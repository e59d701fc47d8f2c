using AutoPlace.Geometry;
using AutoPlace.Verification;
using Xunit;

namespace AutoPlace.Tests.Verification;

public sealed class CentripetalCatmullRomTests
{
    private static readonly Vector3d[] Points = [new(0, 0, 0), new(1, 2, 0), new(1.1, 2, 0.5), new(4, -1, 1)];

    [Theory]
    [InlineData(false)]
    [InlineData(true)]
    public void Curve_passes_through_its_points(bool closed)
    {
        for (int span = 0; span < Points.Length - (closed ? 0 : 1); span++)
        {
            AssertNear(Points[span], CentripetalCatmullRom.Point(Points, closed, span, 0));
            AssertNear(Points[(span + 1) % Points.Length], CentripetalCatmullRom.Point(Points, closed, span, 1));
        }
    }

    [Fact]
    public void Curve_through_points_on_a_line_stays_on_the_line()
    {
        Vector3d[] line = [new(0, 0, 0), new(1, 1, 1), new(5, 5, 5), new(5.5, 5.5, 5.5)];
        for (int span = 0; span < 3; span++)
        {
            Vector3d p = CentripetalCatmullRom.Point(line, false, span, 0.4);
            Assert.Equal(p.X, p.Y, 1e-12);
            Assert.Equal(p.X, p.Z, 1e-12);
            Assert.InRange(p.X, line[span].X, line[span + 1].X);
        }
    }

    [Fact]
    public void Direction_does_not_jump_at_a_joint()
    {
        const double step = 1e-6;
        Vector3d before = Points[1] - CentripetalCatmullRom.Point(Points, false, 0, 1 - step);
        Vector3d after = CentripetalCatmullRom.Point(Points, false, 1, step) - Points[1];

        Assert.Equal(1, Vector3d.Dot(before.Normalized(), after.Normalized()), 1e-4);
    }

    [Fact]
    public void Coinciding_points_give_no_infinities() =>
        Assert.True(CentripetalCatmullRom.Point([Points[0], Points[0], Points[0]], false, 1, 0.5).IsFinite);

    private static void AssertNear(Vector3d expected, Vector3d actual) =>
        Assert.True(Vector3d.Distance(expected, actual) < 1e-9, $"{expected} against {actual}");
}
