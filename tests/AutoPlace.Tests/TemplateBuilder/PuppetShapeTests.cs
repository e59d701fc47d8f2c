using AutoPlace.Geometry;
using AutoPlace.Template;
using AutoPlace.TemplateBuilder.Cast;
using Xunit;

namespace AutoPlace.Tests.TemplateBuilder;

public sealed class PuppetShapeTests
{
    private static readonly TemplateHead Template = BuiltInTemplate.Load();

    [Fact]
    public void No_change_leaves_every_joint_where_the_template_has_it()
    {
        Vector3d[] joints = TrueLattice.Joints(Template, Shape(EyeShape.Same));

        for (int i = 0; i < joints.Length; i++)
        {
            Assert.True(Vector3d.Distance(joints[i], Template.Lattice.Joints[i].Position) < 1e-5, Template.Lattice.Joints[i].Name);
        }
    }

    /// <summary>A size about one point with an endless radius is a similarity, which scales every lift and offset alike.</summary>
    [Fact]
    public void Enlarged_head_carries_all_joints_by_the_same_similarity()
    {
        const double Size = 1.3;
        var everything = new ShapeChange(new ShapeChange.Local(Vector3d.Zero, 1e6, new(Size, Size, Size), Vector3d.Zero));
        var shape = new PuppetShape(Template, everything, new EyeShape(new(Size, Size, Size), Vector3d.Zero), []);

        Vector3d[] joints = TrueLattice.Joints(Template, shape);

        for (int i = 0; i < joints.Length; i++)
        {
            Assert.True(Vector3d.Distance(joints[i], Template.Lattice.Joints[i].Position * Size) < 1e-5, Template.Lattice.Joints[i].Name);
        }
    }

    [Fact]
    public void Eye_stretch_keeps_a_ball_a_ball_about_its_pivot()
    {
        var size = new Vector3d(1.2, 1.2, 1.2);
        PuppetShape shape = Shape(new EyeShape(size, new(0.05, 0.01, -0.02)));
        Vector3d eye = Template.Landmarks["eye_centre_left"];

        Assert.Equal(0, Vector3d.Distance(shape.EyePivot, eye + new Vector3d(0.05, 0.01, -0.02)), 1e-12);
        foreach (Vector3d direction in (Vector3d[])[Vector3d.UnitX, Vector3d.UnitY, Vector3d.UnitZ, new Vector3d(-1, 1, 1).Normalized()])
        {
            Assert.Equal(0.25 * 1.2, Vector3d.Distance(shape.Apply(eye + (direction * 0.25)), shape.EyePivot), 1e-9);
        }
    }

    [Fact]
    public void Flat_eye_turns_about_the_centre_of_a_ball_of_its_breadth()
    {
        PuppetShape shape = Shape(new EyeShape(new(1.5, 1.5, 0.3), Vector3d.Zero, Flat: true));
        Vector3d eye = Template.Landmarks["eye_centre_left"];

        // Across the plate, perpendicular to where it faces, nothing but the breadth counts: the plate's rim.
        Vector3d rim = shape.Apply(eye + (Vector3d.UnitY * shape.BallRadius / 1.5)), opposite = shape.Apply(eye - (Vector3d.UnitY * shape.BallRadius / 1.5));
        Assert.Equal(2 * shape.BallRadius, Vector3d.Distance(rim, opposite), 1e-9);
        Assert.True(shape.EyePivot.Z < shape.Apply(eye).Z);
    }

    [Fact]
    public void Shift_moves_its_joint_by_the_known_amount_and_leaves_the_other_side()
    {
        var move = new Vector3d(0.02, 0.13, 0);
        var shape = new PuppetShape(Template, new ShapeChange(), EyeShape.Same, [new JointShift("lip_corner_left", move, 0.2)]);
        Vector3d corner = Template.Lattice.Joints.Single(joint => joint.Name == "lip_corner_left").SkinPoint!.Value;

        Assert.Equal(0, Vector3d.Distance(shape.Apply(corner), corner + move), 1e-9);
        Vector3d other = corner with { X = -corner.X };
        Assert.True(Vector3d.Distance(shape.Apply(other), other) < 0.001);
    }

    /// <summary>On a sphere about the origin, stretched along y, the normal is the gradient of the ellipsoid's equation.</summary>
    [Fact]
    public void Normal_of_a_stretched_sphere_is_that_of_the_ellipsoid()
    {
        var stretch = new ShapeChange(new ShapeChange.Local(Vector3d.Zero, 1e6, new(1, 2, 1), Vector3d.Zero));
        var shape = new PuppetShape(Template, stretch, EyeShape.Same, []);
        Vector3d direction = new Vector3d(-0.3, 0.5, -0.8).Normalized();

        Vector3d normal = shape.Normal(direction * 3, direction);

        Vector3d expected = new Vector3d(direction.X, direction.Y / 2, direction.Z).Normalized();
        Assert.Equal(0, Vector3d.Distance(normal, expected), 1e-6);
    }

    private static PuppetShape Shape(EyeShape eyes) => new(Template, new ShapeChange(), eyes, []);
}
