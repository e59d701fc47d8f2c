using AutoPlace.Geometry;
using AutoPlace.Landmarks;
using AutoPlace.Registration;
using AutoPlace.Template;
using AutoPlace.Verification;
using Xunit;

namespace AutoPlace.Tests.Verification;

/// <summary>The built-in lattice on its own head, where only one thing is off.</summary>
public sealed class MotionCheckTests
{
    private static readonly TemplateHead Template = BuiltInTemplate.Load();

    private static readonly string[] Eyes = ["eye_centre_left", "eye_centre_right"];
    private static readonly Vector3d Up = new(0, 1.3, 0);

    [Fact]
    public void Template_itself_moves_as_it_should() => Assert.Empty(Run(joint => Vector3d.Zero));

    /// <summary>Turned by 30 degrees, a point at distance d from the pivot moves by the chord 2 d sin 15.</summary>
    [Fact]
    public void Eye_that_turns_beside_its_centre_is_found()
    {
        Finding finding = Assert.Single(Run(joint => joint == "eye_centre_left" ? new Vector3d(0.02, -0.03, 0.01) : Vector3d.Zero));

        Assert.Equal(("gaze-turn", "eye_centre_left"), (finding.Check, finding.Subject));
        Assert.Equal(2 * Math.Sin(Math.PI / 12) * Math.Sqrt(0.0014), finding.Value, 1e-12);
    }

    [Fact]
    public void Lid_that_turns_into_the_ball_is_found() =>
        Assert.Contains(
            Run(joint => joint == "lid_upper_right" ? new Vector3d(0, 0.12, -0.12) : Vector3d.Zero),
            f => f.Check == "lid-closing" && f.Subject.StartsWith("lid_upper_margin", StringComparison.Ordinal) && f.Message.Contains("eyeball", StringComparison.Ordinal));

    [Fact]
    public void Lids_that_do_not_meet_are_found()
    {
        Finding finding = Assert.Single(Run(joint => joint == "lid_upper_margin_2_left" ? new Vector3d(0, 0.15, 0) : Vector3d.Zero));

        Assert.Equal(("lid-closing", "lid_upper_margin_2_left"), (finding.Check, finding.Subject));
        Assert.InRange(finding.Value, MotionCheck.LidGap.Value, 0.15); // no farther than it was moved
    }

    [Fact]
    public void Hinge_at_another_height_sends_the_chin_another_way()
    {
        Finding finding = Assert.Single(Run(joint => joint == "jaw_hinge" ? Up : Vector3d.Zero));

        Assert.Equal(("jaw-opening", "jaw_hinge", "degrees"), (finding.Check, finding.Subject, finding.Unit));
        // The way is at right angles to the line from hinge to chin, on whichever side the hinge is.
        Vector3d chin = At("menton"), hinge = At("jaw_hinge"), moved = hinge + Up;
        Assert.Equal(Math.Abs(Height(chin - hinge) - Height(chin - moved)), finding.Value, 3.0);

        static double Height(Vector3d way) => double.RadiansToDegrees(Math.Atan2(way.Y, way.Z));
    }

    [Fact]
    public void Lower_lip_that_lies_where_it_closes_the_open_mouth_is_found()
    {
        // Put back by what the hinge will do to it, the joint comes to lie on the upper lip.
        Vector3d hinge = At("jaw_hinge"), upper = At("lip_upper_contact") - hinge;
        (double sin, double cos) = Math.SinCos(double.DegreesToRadians(-20));
        Vector3d back = hinge + new Vector3d(upper.X, (upper.Y * cos) - (upper.Z * sin), (upper.Y * sin) + (upper.Z * cos));

        Finding finding = Assert.Single(Run(joint => joint == "lip_lower_contact" ? back - At(joint) : Vector3d.Zero));

        Assert.Equal(("jaw-opening", "lip_lower_contact", "ratio"), (finding.Check, finding.Subject, finding.Unit));
        Assert.Equal(0, finding.Value, 1e-9);
    }

    [Fact]
    public void Without_a_ball_in_the_mesh_nothing_is_said_of_it() =>
        Assert.Empty(Run(joint => joint == "eye_centre_left" ? new Vector3d(0.05, 0, 0) : Vector3d.Zero, LandmarkSource.Network));

    private static Vector3d At(string joint) => Template.Lattice.Joints.Single(j => j.Name == joint).Position;

    private static Finding[] Run(Func<string, Vector3d> off, LandmarkSource source = LandmarkSource.SphereFit)
    {
        JointPlacement[] joints = [.. Template.Lattice.Joints.Select(joint => new JointPlacement
        {
            Joint = joint,
            Position = joint.Position + off(joint.Name),
            Rotation = joint.Rotation,
            State = JointState.Modelled,
            LocalSize = 1,
            Lift = joint.Lift,
            Radius90 = 0.05,
        })];
        TriangleMesh mesh = Template.Mesh.Triangulate(out _);
        Landmark[] eyes = [.. Eyes.Select(eye => new Landmark(eye, At(eye), Matrix3d.Identity * 1e-4, 1, source))];
        var placement = new LatticePlacement(joints, Template.Lattice.Rows, Template.Lattice.Columns);
        return [.. MotionCheck.Run(new CheckedHead(placement, mesh, new BoundingVolumeHierarchy(mesh), eyes))];
    }
}
