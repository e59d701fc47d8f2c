using AutoPlace.Geometry;
using AutoPlace.Landmarks;
using AutoPlace.Template;
using Xunit;

namespace AutoPlace.Tests.Template;

/// <summary>Properties of the template that comes with the program.</summary>
public sealed class BuiltInTemplateTests
{
    private static readonly TemplateHead Template = BuiltInTemplate.Load();

    private static readonly Dictionary<string, ControlJoint> Joints =
        Template.Lattice.Joints.ToDictionary(joint => joint.Name, StringComparer.Ordinal);

    // FACS (PMC7264164 table 1) and H-Anim (ISO/IEC 19774-1:2019), face only.
    private static readonly string[] Units =
    [
        .. new[] { 1, 2, 4, 5, 6, 7, 9, 10, 12, 14, 15, 16, 17, 18, 20, 22, 23, 24, 25, 26, 27, 43, 45 }.Select(unit => $"FACS {unit}"),
        "H-Anim skullbase", "H-Anim temporomandibular", "H-Anim l_eyelid_joint", "H-Anim r_eyelid_joint",
        "H-Anim l_eyeball_joint", "H-Anim r_eyeball_joint", "H-Anim l_eyebrow_joint", "H-Anim r_eyebrow_joint",
    ];

    [Fact]
    public void Every_unit_of_the_standards_has_a_joint()
    {
        foreach (string unit in Units)
        {
            Assert.True(Template.Coverage.TryGetValue(unit, out IReadOnlyList<string>? joints), unit);
            Assert.NotEmpty(joints);
            Assert.All(joints, joint => Assert.Contains(joint, Joints.Keys));
        }
    }

    // Regions that a unit moves, after its muscles in PMC7264164 table 1.
    [Theory]
    [InlineData("1 2 4", "brow")]
    [InlineData("5 7 43 45", "eyelid")]
    [InlineData("6", "cheek")]
    [InlineData("9", "nose")]
    [InlineData("10 12 14 15 16 18 20 22 23 24 25", "lip")]
    [InlineData("17 26 27", "jaw")]
    public void Units_find_a_joint_in_the_region_that_they_move_on_either_side(string units, string region)
    {
        foreach (string unit in units.Split(' '))
        {
            ControlJoint[] found = [.. Template.Coverage[$"FACS {unit}"].Select(joint => Joints[joint]).Where(joint => joint.Region == region)];
            Assert.True(found.Length > 0, $"FACS {unit} finds no joint in the region {region}");
            Assert.All(found, joint => Assert.Contains(LandmarkNames.Mirror(joint.Name), Template.Coverage[$"FACS {unit}"]));
        }
    }

    [Theory]
    [InlineData("lid_upper_margin_{0}_left", "lid_lower_margin_{0}_left", 5)]
    [InlineData("lip_upper_contact_{0}_left", "lip_lower_contact_{0}_left", 3)]
    [InlineData("lip_upper_border_{0}_left", "lip_lower_border_{0}_left", 3)]
    public void Upper_and_lower_rows_are_paired(string upper, string lower, int count)
    {
        for (int k = 1; k <= count; k++)
        {
            ControlJoint a = Joints[upper.Replace("{0}", $"{k}", StringComparison.Ordinal)], b = Joints[lower.Replace("{0}", $"{k}", StringComparison.Ordinal)];

            // Partners stand over each other to two millimetres on a life-sized head, and the upper one on the upper edge.
            Assert.InRange(Math.Abs(a.SkinPoint!.Value.X - b.SkinPoint!.Value.X), 0, 0.032);
            Assert.True(a.SkinPoint!.Value.Y > b.SkinPoint!.Value.Y, $"{a.Name} lies below {b.Name}");
        }
    }

    [Fact]
    public void Joints_named_after_a_landmark_stand_on_it()
    {
        // A broad lift, or half an edge where the joint stands on a loop: a millimetre on a life-sized head.
        Assert.All(Template.Lattice.Joints.Where(joint => Template.Landmarks.ContainsKey(joint.Name)), joint =>
            Assert.InRange(Vector3d.Distance(joint.Position, Template.Landmarks[joint.Name]), 0, 0.016));
    }

    [Fact]
    public void Right_side_is_the_left_one_mirrored_to_the_last_bit()
    {
        foreach (ControlJoint joint in Template.Lattice.Joints)
        {
            ControlJoint other = Joints[LandmarkNames.Mirror(joint.Name)];
            Assert.Equal(Mirror(joint.Position), other.Position);
            Assert.Equal(joint.SkinPoint is { } point ? Mirror(point) : null, other.SkinPoint);
            Assert.Equal(joint.Lift, other.Lift);
            Assert.Equal(Mirror(joint.Rotation), other.Rotation);
            Assert.Equal(joint.Parent is null ? null : LandmarkNames.Mirror(joint.Parent), other.Parent);
            Assert.Equal(joint.Side, joint.Name == other.Name ? Side.Middle : joint.Name.EndsWith("_left", StringComparison.Ordinal) ? Side.Left : Side.Right);
        }
    }

    [Fact]
    public void Mesh_is_symmetric_to_the_last_bit()
    {
        var positions = Template.Mesh.Positions.ToArray().ToHashSet();
        Assert.All(Template.Mesh.Positions.ToArray(), p => Assert.Contains(p with { X = -p.X }, positions));
    }

    [Fact]
    public void Landmarks_are_symmetric_and_complete()
    {
        Assert.Equal(LandmarkNames.All.Order(StringComparer.Ordinal), Template.Landmarks.Keys.Order(StringComparer.Ordinal));
        foreach ((string name, Vector3d point) in Template.Landmarks)
        {
            Assert.Equal(Mirror(point), Template.Landmarks[LandmarkNames.Mirror(name)]);
        }

        // The network was taught with balls whose centres span the atlas; those of a living size lie ahead of them.
        Assert.Equal(new Vector3d(0.5, 0, 0.066), Template.Landmarks["eye_centre_left"]);
    }

    [Fact]
    public void Surface_joints_float_by_their_lift_and_never_sink()
    {
        Assert.All(Template.Lattice.Joints.Where(joint => joint.Ride == Ride.Skin), joint =>
        {
            Assert.InRange(joint.Lift, 0.002, 0.02);

            // Six decimals are written of either point.
            Assert.Equal(joint.Lift, Vector3d.Distance(joint.Position, joint.SkinPoint!.Value), 5e-6);

            // The z axis of a surface joint is the skin's normal; in folds it keeps to the face at large.
            Vector3d outward = (joint.Position - joint.SkinPoint!.Value).Normalized();
            if (!joint.InFold)
            {
                Assert.InRange(Vector3d.Dot(outward, joint.Rotation.Rotate(Vector3d.UnitZ)), 0.999, 1.001);
            }
        });
        Assert.All(Template.Lattice.Joints.Where(joint => joint.InFold), joint => Assert.InRange(joint.Lift, 0, 0.005));
    }

    [Fact]
    public void Rows_turn_by_less_than_a_right_angle_within_a_half_row()
    {
        foreach (JointSequence row in Template.Lattice.Rows)
        {
            for (int i = 1; i + 1 < row.Joints.Count; i++)
            {
                // Where the two halves meet, at the midline, a row may turn as it likes.
                ControlJoint middle = Joints[row.Joints[i]];
                if (middle.Side != Side.Middle)
                {
                    Vector3d before = middle.Position - Joints[row.Joints[i - 1]].Position;
                    Vector3d after = Joints[row.Joints[i + 1]].Position - middle.Position;
                    double degrees = Math.Acos(Vector3d.Dot(before.Normalized(), after.Normalized())) * 180 / Math.PI;
                    Assert.True(degrees < 90, $"{row.Name} turns by {degrees:F0} degrees at {middle.Name}");
                }
            }
        }
    }

    [Fact]
    public void Rows_do_not_flip_their_frames()
    {
        foreach (JointSequence row in Template.Lattice.Rows.Where(row => !row.Closed))
        {
            for (int i = 1; i < row.Joints.Count; i++)
            {
                ControlJoint a = Joints[row.Joints[i - 1]], b = Joints[row.Joints[i]];
                if (a.Ride == Ride.Skin && b.Ride == Ride.Skin)
                {
                    double degrees = Rotation3d.AngleDegrees(a.Rotation, b.Rotation);
                    Assert.True(degrees < 90, $"{row.Name} turns its frame by {degrees:F0} degrees from {a.Name} to {b.Name}");
                }
            }
        }
    }

    [Fact]
    public void Reduced_level_is_a_lattice_of_its_own()
    {
        JointLattice reduced = LatticeReduction.Reduced(Template);
        Assert.InRange(reduced.Joints.Count, 40, 50);
        LatticeRules.Check("reduced", Template with { Lattice = reduced, Coverage = new Dictionary<string, IReadOnlyList<string>>() });
        Assert.All(reduced.Joints, joint => Assert.Equal(Joints[joint.Name].Position, joint.Position));
        Assert.Single(reduced.Joints, joint => joint.Parent is null);
    }

    [Fact]
    public void Hinge_obeys_the_rule_and_lies_inside_the_head()
    {
        JawHinge hinge = JawHingeRule.Apply(
            Template.Landmarks["tragion_left"], Template.Landmarks["tragion_right"],
            Template.Landmarks["exocanthion_left"], Template.Landmarks["exocanthion_right"]);
        Assert.Equal(0, Vector3d.Distance(hinge.Centre, Joints["jaw_hinge"].Position), 2e-6);
        Assert.Equal(0, Vector3d.Distance(hinge.CondyleLeft, Joints["condyle_left"].Position), 2e-6);
        Assert.InRange(hinge.CondyleLeft.X, 0.1, Template.Landmarks["tragion_left"].X);
    }

    [Fact]
    public void Written_and_read_again_the_template_is_the_same()
    {
        byte[] json = TemplateWriter.Write(Template);
        TemplateHead again = TemplateReader.Read("again", json);
        Assert.Equal(Template.Sha256, again.Sha256);
        Assert.Equal(Template.Lattice.Joints, again.Lattice.Joints);
        Assert.Equal(Template.Mesh.Positions.ToArray(), again.Mesh.Positions.ToArray());
        Assert.Equal(Template.Mesh.FaceVertices.ToArray(), again.Mesh.FaceVertices.ToArray());
        Assert.Equal(Template.FaceParts, again.FaceParts);
    }

    private static Vector3d Mirror(Vector3d p) => p with { X = -p.X };

    private static Rotation3d Mirror(Rotation3d r) => new(r.X, -r.Y, -r.Z, r.W);
}
