using AutoPlace.Geometry;
using AutoPlace.Registration;
using AutoPlace.Registration.Correcting;
using AutoPlace.Template;
using Xunit;

namespace AutoPlace.Tests.Registration.Correcting;

public sealed class LookGainTests
{
    [Fact]
    public void Joint_among_others_gains_more_than_one_alone()
    {
        IReadOnlyList<LookGain> gains = LookGain.Of(Laid(("middle", 0, 0.1), ("beside", 0.2, 0.1), ("beyond", -0.2, 0.1), ("alone", 5, 0.1)));

        Assert.Equal("middle", gains[0].Joint);
        Assert.True(gains[0].Gain > 1.2 * gains.Single(g => g.Joint == "alone").Gain);
    }

    [Fact]
    public void What_the_first_look_tells_is_not_gained_again()
    {
        // Two that are wrong alike, and a third on its own that gains less than either, but more than the second of them.
        IReadOnlyList<LookGain> gains = LookGain.Of(Laid(("a", 0, 0.1), ("b", 0.05, 0.1), ("alone", 5, 0.095)));

        Assert.Equal("alone", gains[1].Joint);
    }

    [Fact]
    public void Gain_grows_with_the_radius() =>
        Assert.Equal(["b", "a", "c"], LookGain.Of(Laid(("a", 0, 0.1), ("b", 5, 0.2), ("c", 10, 0.05))).Select(g => g.Joint));

    [Fact]
    public void Joint_that_was_set_leaves_less_doubt_about_its_neighbours_and_none_of_itself()
    {
        double[] remaining = DisplacementSpread.Of(Laid(("set", 0, 0), ("beside", 0.1, 0.1), ("far", 5, 0.1))).Remaining([true, false, false]);

        Assert.Equal(0, remaining[0]);
        Assert.InRange(remaining[1], 0.5, 0.9);
        Assert.Equal(1, remaining[2], 1e-9);
        Assert.DoesNotContain(LookGain.Of(Laid(("set", 0, 0), ("beside", 0.1, 0.1))), g => g.Joint == "set");
    }

    [Fact]
    public void First_gain_of_a_joint_without_others_is_its_expected_error()
    {
        LookGain gain = Assert.Single(LookGain.Of(Laid(("set", 0, 0), ("beside", 0.1, 0.05))));

        Assert.Equal(0.05 / LatticeRegistration.Radius90Sigmas, gain.Gain, 0.003);
    }

    [Fact]
    public void Coinciding_joints_are_named_once_and_absent_ones_never()
    {
        LatticePlacement laid = Laid(("a", 0, 0.1), ("b", 0, 0.1), ("c", 1, 0.1));

        Assert.Equal(2, LookGain.Of(laid).Count);
        Assert.Empty(LookGain.Of(laid with { Joints = [.. laid.Joints.Select(j => j with { State = JointState.Absent })] }));
    }

    /// <summary>Variance that is left of b when a is known: 1 - k(a, b)^2 / (k(a, a) k(b, b)) (Rasmussen and Williams 2006, eq. 2.26; from memory).</summary>
    [Fact]
    public void Posterior_variance_is_that_of_two_correlated_errors()
    {
        var spread = new DisplacementSpread(Laid(("a", 0, 0.1), ("b", 0.3, 0.1)).Joints, new Dictionary<string, string>());

        double[,] prior = spread.Posterior([0, 1], []), posterior = spread.Posterior([1], [0]);

        Assert.Equal(1, prior[0, 0], 1e-9);
        Assert.Equal(1, prior[1, 1], 1e-9);
        Assert.True(prior[0, 1] > 0.2);
        Assert.Equal(1 - (prior[0, 1] * prior[0, 1]), posterior[0, 0], 1e-9);
    }

    // Joints of one region on a line, in no pairs.
    private static LatticePlacement Laid(params (string Name, double Y, double Radius90)[] joints) => new(
        [.. joints.Select(j => SampleHead.Place(Joint(j.Name, new Vector3d(0.5, j.Y, 0))) with { Radius90 = j.Radius90 })], [], []);

    private static ControlJoint Joint(string name, Vector3d at) =>
        SampleHead.Lattice.Joints[0] with { Name = name, Parent = null, Region = "cheek", Side = Side.Left, Position = at, Ride = Ride.Inner, SkinPoint = null };
}
