using AutoPlace.Geometry;
using AutoPlace.Landmarks;
using AutoPlace.Registration;
using Xunit;

namespace AutoPlace.Tests.Registration;

public sealed class ControlPointDoubtTests
{
    private const double Variance = 1e-4;

    private static readonly ControlPoint Near = At(0), Beside = At(0.15), Far = At(1);

    [Fact]
    public void Where_landmarks_and_correspondences_agree_nothing_changes() =>
        Assert.All(Widened(0.04, LandmarkSource.Network), c => Assert.Equal(Variance, c.Variance));

    [Fact]
    public void What_a_landmark_contradicts_is_in_doubt_by_as_much_the_nearer_the_more()
    {
        IReadOnlyList<ControlPoint> widened = Widened(0.25, LandmarkSource.Network);

        // 0.05 is usual, and two standard deviations of 0.01 sqrt(2).
        double excess = 0.25 - 0.05 - (2 * Math.Sqrt(2 * Variance));
        Assert.Equal(Variance + (excess * excess), widened[0].Variance, 1e-12);
        Assert.Equal(Variance + (excess * excess * Math.Exp(-0.5)), widened[1].Variance, 1e-12);
        Assert.Equal(Variance, widened[2].Variance, 1e-9);
        Assert.Equal([Near.Head, Beside.Head, Far.Head], widened.Select(c => c.Head));
    }

    [Fact]
    public void A_landmark_that_no_view_shows_contradicts_nothing() =>
        Assert.All(Widened(0.25, LandmarkSource.Inferred), c => Assert.Equal(Variance, c.Variance));

    private static IReadOnlyList<ControlPoint> Widened(double apart, LandmarkSource source) => ControlPointDoubt.Widened(
        [Near, Beside, Far],
        new Dictionary<string, ControlPoint> { ["nasion"] = Near },
        [new Landmark("nasion", Near.Head + new Vector3d(0, apart, 0), Matrix3d.Identity * Variance, 1, source)]);

    private static ControlPoint At(double x) => new(new Vector3d(x, 0, 0), new Vector3d(x, 0.3, 0), Variance);
}
