using AutoPlace.Geometry;
using AutoPlace.Registration;
using AutoPlace.Template;
using CsCheck;
using Xunit;

namespace AutoPlace.Tests.Registration;

/// <summary>Rigs of paired joints on a plane of the atlas, read wrongly in ways that are known.</summary>
public sealed class MirroredReadingTests
{
    private const double Spacing = 0.15;

    /// <summary>A reading that slid to one side, the same way everywhere or turned: what isn't symmetric in it goes, where the joints are.</summary>
    [Theory]
    [InlineData(0.02, 0)]
    [InlineData(0, 0.03)]
    [InlineData(-0.01, -0.02)]
    public void Slide_to_one_side_is_taken_out(double across, double turned)
    {
        (string Name, Vector3d Meant)[] rig = [.. Pairs("brow_{0}_left", "brow_{0}_right")];
        Vector3d Read(Vector3d meant) => meant + new Vector3d(across, turned * meant.X, 0);
        MirroredReading reading = Of(rig.Select(joint => (joint.Name, Read(joint.Meant))));

        double before = rig.Max(joint => Vector3d.Distance(Read(joint.Meant), joint.Meant));
        double after = rig.Max(joint => Vector3d.Distance(reading.Apply(Read(joint.Meant)), joint.Meant));

        Assert.True(after < 0.3 * before, $"{before} -> {after}");
    }

    /// <summary>What both sides were misread by alike can't be told, and symmetric readings stay to the last digit.</summary>
    [Fact]
    public void Symmetric_reading_stays() => Gen.Double[-0.05, 0.05].Array[3].Sample(off =>
    {
        (string Name, Vector3d Meant)[] rig = [.. Pairs("L_skin{0}", "R_skin{0}")];
        Vector3d Read(Vector3d meant) => meant + new Vector3d(Math.Sign(meant.X) * off[0], off[1], off[2]);
        MirroredReading reading = Of(rig.Select(joint => (joint.Name, Read(joint.Meant))));

        return rig.All(joint => Vector3d.Distance(reading.Apply(Read(joint.Meant)), Read(joint.Meant)) < 1e-12);
    });

    /// <summary>A joint that its rigger has put elsewhere on one side only: it isn't put back by more than a third, and its neighbours hardly follow.</summary>
    [Fact]
    public void Single_joint_put_elsewhere_stays_so()
    {
        const double Elsewhere = 0.06;
        (string Name, Vector3d Meant)[] rig = [.. Pairs("cheek{0}Left", "cheek{0}Right")];
        (string moved, Vector3d at) = rig[rig.Length / 2];
        Vector3d put = at + (Vector3d.UnitY * Elsewhere);
        MirroredReading reading = Of(rig.Select(joint => joint.Name == moved ? (moved, put) : joint));

        Assert.True(Vector3d.Distance(reading.Apply(put), put) < Elsewhere / 3, $"{reading.Apply(put)}");
        Assert.All(rig.Where(joint => joint.Name != moved), joint =>
            Assert.True(Vector3d.Distance(reading.Apply(joint.Meant), joint.Meant) < Elsewhere / 4, joint.Name));
    }

    /// <summary>The correction keeps to where the joints are.</summary>
    [Fact]
    public void Far_from_the_joints_the_reading_stays()
    {
        MirroredReading reading = Of(Pairs("brow_{0}_left", "brow_{0}_right").Select(joint => (joint.Name, joint.Meant + (Vector3d.UnitX * 0.03))));
        Vector3d behind = new(0.4, 0.4, -1.5);

        Assert.True(Vector3d.Distance(reading.Apply(behind), behind) < 1e-6);
    }

    /// <summary>Names without sides, both joints of a pair of names on one side, or farther apart than readings err: no pair.</summary>
    [Theory]
    [InlineData("scar_1", "scar_2", 0.3, -0.32)]
    [InlineData("scar_left", "scar_right", 0.3, 0.32)]
    [InlineData("scar_left", "scar_right", 0.3, -0.5)]
    public void What_is_no_pair_says_nothing(string one, string other, double x, double otherX)
    {
        MirroredReading reading = Of([(one, new Vector3d(x, 0, 0.8)), (other, new Vector3d(otherX, 0, 0.8))]);

        Assert.Equal(new Vector3d(0.3, 0.1, 0.8), reading.Apply(new Vector3d(0.3, 0.1, 0.8)));
    }

    // A lattice of 5 by 5 joints on either side, in front of the eyes.
    private static IEnumerable<(string Name, Vector3d Meant)> Pairs(string left, string right)
    {
        for (int i = 0; i < 25; i++)
        {
            Vector3d at = new(0.1 + (Spacing * (i % 5)), Spacing * (i / 5), 0.8);
            yield return (string.Format(System.Globalization.CultureInfo.InvariantCulture, left, i), at);
            yield return (string.Format(System.Globalization.CultureInfo.InvariantCulture, right, i), at with { X = -at.X });
        }
    }

    private static MirroredReading Of(IEnumerable<(string Name, Vector3d Read)> joints) => new([.. joints.Select(joint =>
        (new ControlJoint { Name = joint.Name, Kind = JointKind.Surface, Ride = Ride.Skin, Position = joint.Read }, joint.Read))]);
}
