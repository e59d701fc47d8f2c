using AutoPlace.Geometry;
using AutoPlace.Verification;
using Xunit;

namespace AutoPlace.Tests.Verification;

public sealed class ConfidenceRadiusTests
{
    // Square roots of the 0.9 quantiles of the chi-squared distribution with 3 and 1 degrees of freedom, 6.2514 and
    // 2.7055, from printed tables (from memory).
    [Fact]
    public void Radius_of_a_ball_and_of_a_line_agree_with_tables()
    {
        Assert.Equal(Math.Sqrt(6.2514), ConfidenceRadius.Of90(Matrix3d.Identity), 0.004 * 2.5);
        Assert.Equal(Math.Sqrt(2.7055), ConfidenceRadius.Of90(Matrix3d.Diagonal(1, 0, 0)), 0.013 * 1.645);
    }

    [Fact]
    public void Nothing_spreads_nothing() => Assert.Equal(0, ConfidenceRadius.Of90(default));

    [Fact]
    public void Radius_grows_with_the_standard_deviation() => Assert.Equal(
        3 * ConfidenceRadius.Of90(Matrix3d.Diagonal(1, 2, 3)), ConfidenceRadius.Of90(Matrix3d.Diagonal(9, 18, 27)), 1e-12);
}
