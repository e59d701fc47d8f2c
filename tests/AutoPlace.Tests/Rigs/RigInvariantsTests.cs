using AutoPlace.Geometry;
using AutoPlace.Registration;
using AutoPlace.Template;
using AutoPlace.TemplateBuilder.Cast.Measuring;
using Xunit;

namespace AutoPlace.Tests.Rigs;

/// <summary>
/// What a fitted rig has exactly it has exactly on another head: all together, in rigs with random turns, extra chains,
/// coinciding joints and things that are worn, on heads taken as symmetric (odd seeds) and not. Exact is a billionth of the interocular distance: double precision.
/// </summary>
public sealed class RigInvariantsTests(RigHeads heads) : IClassFixture<RigHeads>
{
    private const double Exact = 1e-9;

    public static TheoryData<string, string, int> Cases => new()
    {
        { "maren", "tibb", 1 }, { "maren", "wick", 2 }, { "tibb", "maren", 3 }, { "maren", "lysk", 4 }, { "wick", "hobb", 5 }, { "lysk", "maren", 7 },
    };

    [Theory]
    [MemberData(nameof(Cases))]
    public void Coinciding_joints_coincide(string from, string onto, int seed)
    {
        (TemplateHead template, Dictionary<string, JointPlacement> placed, _) = Place(from, onto, seed);
        int pairs = 0;
        foreach (ControlJoint a in template.Lattice.Joints)
        {
            foreach (ControlJoint b in template.Lattice.Joints.TakeWhile(b => b != a).Where(b => Vector3d.Distance(a.Position, b.Position) <= LatticeInvariants.Coincident))
            {
                Assert.True(placed[a.Name].Position == placed[b.Name].Position, $"{a} {placed[a.Name].Position} and {b} {placed[b.Name].Position}");
                pairs++;
            }
        }

        Assert.True(pairs >= 10, $"{pairs} pairs");
    }

    [Theory]
    [MemberData(nameof(Cases))]
    public void Straight_chains_stay_straight(string from, string onto, int seed)
    {
        (_, Dictionary<string, JointPlacement> placed, _) = Place(from, onto, seed);
        foreach (string chain in (string[])["neck_{0}", "feeler_{0}_left", "feeler_{0}_right"])
        {
            Vector3d[] at = [.. Enumerable.Range(1, 4).Select(i => placed[chain.Replace("{0}", $"{i}", StringComparison.Ordinal)].Position)];
            Vector3d along = at[3] - at[0];
            Assert.True(along.Length > 0.1);
            Assert.All(at, p => Assert.InRange(Vector3d.Cross(along.Normalized(), p - at[0]).Length, 0, Exact));
            Assert.All(Enumerable.Range(0, 3), i => Assert.True(Vector3d.Dot(along, at[i + 1] - at[i]) > 0));
        }
    }

    /// <summary>On one that isn't symmetric skin joints may leave the plane by what the face does: more than 0.03.</summary>
    [Theory]
    [MemberData(nameof(Cases))]
    public void Midline_joints_stay_on_the_midline(string from, string onto, int seed)
    {
        (TemplateHead template, Dictionary<string, JointPlacement> placed, bool symmetric) = Place(from, onto, seed);
        ControlJoint[] middle = [.. template.Lattice.Joints.Where(joint => joint.Side == Side.Middle)];
        Assert.True(middle.Length > 20);
        Assert.All(middle, joint => Assert.True(
            placed[joint.Name].Position.X == 0 || (!symmetric && Math.Abs(placed[joint.Name].Position.X) > 0.03), $"{joint.Name} {placed[joint.Name].Position.X}"));
    }

    [Theory]
    [MemberData(nameof(Cases))]
    public void Rigid_groups_keep_their_shape_and_turn_as_one(string from, string onto, int seed)
    {
        (TemplateHead template, Dictionary<string, JointPlacement> placed, _) = Place(from, onto, seed);
        ControlJoint[][] groups =
        [
            [.. template.Lattice.Joints.Where(joint => joint.RigidGroup == "glasses")],
            [.. template.Lattice.Joints.Where(joint => joint.Ride == Ride.TeethUpper)],
            [.. template.Lattice.Joints.Where(joint => joint.Ride == Ride.TeethLower)],
        ];
        foreach (ControlJoint[] group in groups)
        {
            Assert.True(group.Length >= 2);
            double scale = Vector3d.Distance(placed[group[0].Name].Position, placed[group[1].Name].Position) / Vector3d.Distance(group[0].Position, group[1].Position);
            foreach (ControlJoint a in group)
            {
                Assert.All(group, b => Assert.Equal(
                    scale * Vector3d.Distance(a.Position, b.Position), Vector3d.Distance(placed[a.Name].Position, placed[b.Name].Position), Exact));
                Rotation3d own = group[0].Rotation.Inverse() * a.Rotation, now = placed[group[0].Name].Rotation.Inverse() * placed[a.Name].Rotation;
                Assert.InRange(Rotation3d.AngleDegrees(own, now), 0, 1e-5);
            }
        }
    }

    /// <summary>Positions to the last bit; frames by the rig's own convention, here one for each case.</summary>
    [Theory]
    [MemberData(nameof(Cases))]
    public void Mirrored_pairs_stay_mirrored_on_a_symmetric_head(string from, string onto, int seed)
    {
        (TemplateHead template, Dictionary<string, JointPlacement> placed, bool symmetric) = Place(from, onto, seed);
        Assert.SkipUnless(symmetric && from != "lysk", "head or rig isn't symmetric");
        var mirror = Matrix3d.Diagonal(-1, 1, 1);
        ControlJoint[] left = [.. template.Lattice.Joints.Where(joint => joint.Side == Side.Left)];
        Assert.True(left.Length > 80);
        foreach (ControlJoint joint in left)
        {
            Assert.True(joint.Twin is not null, $"{joint.Name} at {joint.Position} has no twin");
            (JointPlacement a, JointPlacement b) = (placed[joint.Name], placed[joint.Twin!]);
            Assert.Equal(a.Position with { X = -a.Position.X }, b.Position);
            ControlJoint twin = b.Joint;
            Matrix3d own = (mirror * joint.Rotation.ToMatrix()).Transposed() * twin.Rotation.ToMatrix();
            Matrix3d now = (mirror * a.Rotation.ToMatrix()).Transposed() * b.Rotation.ToMatrix();
            Matrix3d off = own + (now * -1);
            Assert.InRange(Math.Sqrt(off.Row0.LengthSquared + off.Row1.LengthSquared + off.Row2.LengthSquared), 0, 1e-7);
        }
    }

    /// <summary>
    /// A head that is symmetric in shape but not in its mesh: pairs come out mirrored all the same. On the face that is asymmetric
    /// on purpose those regions stay so.
    /// </summary>
    [Theory]
    [InlineData("tibb", true)]
    [InlineData("lysk", false)]
    public void Pairs_are_mirrored_in_regions_that_are_symmetric_as_far_as_can_be_seen(string onto, bool all)
    {
        TemplateHead template = heads.Template("maren", Rig(RigHeads.Truth("maren"), 1));
        PlacementResult result = heads.Place(template, onto);
        var placed = result.Placement.Joints.ToDictionary(joint => joint.Joint.Name, StringComparer.Ordinal);
        Assert.False(result.Registration!.IsSymmetric);

        ControlJoint[] left = [.. template.Lattice.Joints.Where(joint => joint.Side == Side.Left)];
        bool[] mirrored = [.. left.Select(joint => placed[joint.Twin!].Position == placed[joint.Name].Position with { X = -placed[joint.Name].Position.X })];

        Assert.Equal(all, mirrored.All(isIt => isIt));
        Assert.DoesNotContain(left.Zip(mirrored), pair => !all && pair.Second && pair.First.Name.StartsWith("ear_", StringComparison.Ordinal));
    }

    private (TemplateHead Template, Dictionary<string, JointPlacement> Placed, bool Symmetric) Place(string from, string onto, int seed)
    {
        TemplateHead template = heads.Template(from, Rig(RigHeads.Truth(from), seed));
        PlacementResult placed = heads.Place(template, onto, symmetric: seed % 2 == 1);
        return (template, placed.Placement.Joints.ToDictionary(joint => joint.Joint.Name, StringComparer.Ordinal), placed.Registration!.IsSymmetric);
    }

    // All true joints, a straight neck on the midline, a straight feeler on either side, a pair of glasses, and doubles in one place.
    private static List<RigJoint> Rig(TruthFile truth, int seed)
    {
        Matrix3d[] conventions = [Matrix3d.Diagonal(-1, 1, 1), Matrix3d.Diagonal(1, -1, 1), Matrix3d.Diagonal(1, 1, -1), Matrix3d.Diagonal(-1, -1, -1)];
        Vector3d front = Vector3d.Cross(truth.Left, truth.Up);
        List<RigJoint> joints = DemoRig.Of(truth);
        for (int i = 1; i <= 4; i++)
        {
            Add($"neck_{i}", i == 1 ? "skullbase" : $"neck_{i - 1}", 0, -0.8 - (0.37 * i), -1.1 - (0.05 * i));
            foreach ((string side, int sign) in (ReadOnlySpan<(string, int)>)[("left", 1), ("right", -1)])
            {
                Add($"feeler_{i}_{side}", i == 1 ? "skullbase" : $"feeler_{i - 1}_{side}", sign * (0.3 + (0.1 * i)), 0.5 + (0.13 * i), -0.2 - (0.07 * i));
            }
        }

        Add("glasses_bridge", "skullbase", 0, -0.05, 0.6);
        Add("glasses_hinge_left", "glasses_bridge", 1.05, -0.02, 0.3);
        Add("glasses_hinge_right", "glasses_bridge", -1.05, -0.02, 0.3);
        foreach (RigJoint joint in joints.Where((_, i) => i % 17 == 3).ToArray())
        {
            string twin = AutoPlace.Landmarks.LandmarkNames.Mirror(joint.Name);
            foreach (string name in new[] { joint.Name, twin }.Distinct().Where(name => joints.All(other => other.Name != $"again_{name}")))
            {
                RigJoint at = joints.Single(other => other.Name == name);
                joints.Add(new RigJoint($"again_{name}", name, at.Position, Rotation3d.Identity));
            }
        }

        return joints.Turned(truth, conventions[seed % conventions.Length], seed);

        void Add(string name, string parent, double x, double y, double z) => joints.Add(new RigJoint(
            name, parent, truth.Origin + (((truth.Left * x) + (truth.Up * y) + (front * z)) * truth.InterocularDistance), Rotation3d.Identity));
    }
}
