using AutoPlace.Geometry;
using AutoPlace.Registration;
using AutoPlace.Template;
using AutoPlace.Tests.Geometry;
using Xunit;

namespace AutoPlace.Tests.Registration;

/// <summary>Rotation policies on a few joints, against what each says in words.</summary>
public sealed class JointRotationsTests
{
    private const double Exact = 1e-12;

    private static readonly Random Seeded = new(11);
    private static readonly Rotation3d Own = Random(), ParentsOwn = Random();
    private static readonly Matrix3d SkinTurn = Random().ToMatrix();

    [Fact]
    public void Kept_world_rotation_is_the_templates_to_the_last_bit() =>
        Assert.Equal(Own, Apply(Joint("a", RotationPolicy.KeepWorld)).Single().Rotation);

    [Fact]
    public void Kept_local_rotation_is_the_same_to_a_parent_that_turns()
    {
        JointPlacement[] placed = Apply(
            Joint("a", RotationPolicy.TurnWithSkin) with { Rotation = ParentsOwn }, Joint("b", RotationPolicy.KeepLocal) with { Parent = "a" });

        Assert.InRange(Rotation3d.AngleDegrees(ParentsOwn.Inverse() * Own, placed[0].Rotation.Inverse() * placed[1].Rotation), 0, 1e-6);
        AssertSame(SkinTurn * ParentsOwn.ToMatrix(), placed[0].Rotation);
    }

    /// <summary>The target's direction keeps its place among the joint's axes, and what was level across it stays level.</summary>
    [Fact]
    public void Aiming_joint_follows_its_target_and_stays_upright()
    {
        ControlJoint target = Joint("t", RotationPolicy.KeepWorld) with { Position = new(2, 1, 4) };
        ControlJoint eye = Joint("eye", RotationPolicy.Aim) with { AimTarget = "t", Position = new(0.5, 0, 0) };
        Vector3d moved = new(-1, 3, 5);

        JointPlacement[] placed = Apply([eye, target], symmetric: false, joint => joint.Name == "t" ? moved : joint.Position);

        Vector3d before = (target.Position - eye.Position).Normalized(), after = (moved - eye.Position).Normalized();
        Rotation3d turned = placed[0].Rotation;
        Assert.InRange(Vector3d.Distance(Own.Inverse().Rotate(before), turned.Inverse().Rotate(after)), 0, Exact);
        Vector3d level = Own.Inverse().Rotate(Vector3d.Cross(before, Vector3d.UnitY).Normalized());
        Assert.Equal(0, turned.Rotate(level).Y, Exact);
        Assert.True(Vector3d.Dot(turned.Rotate(level), Vector3d.Cross(after, Vector3d.UnitY)) > 0);
    }

    [Fact]
    public void Aiming_joint_whose_target_stays_doesnt_turn()
    {
        ControlJoint target = Joint("t", RotationPolicy.KeepWorld) with { Position = new(0, 0, 4) };

        Assert.Equal(Own, Apply(Joint("eye", RotationPolicy.Aim) with { AimTarget = "t" }, target)[0].Rotation);
    }

    /// <summary>Whatever the frames of a pair are to each other, they stay so when the sides are mirror images.</summary>
    [Fact]
    public void Pair_keeps_its_own_convention_and_the_midline_turns_about_the_axis_across()
    {
        ControlJoint left = Joint("l", RotationPolicy.TurnWithSkin) with { Side = Side.Left, Twin = "r" };
        ControlJoint right = Joint("r", RotationPolicy.TurnWithSkin) with { Side = Side.Right, Twin = "l", Rotation = ParentsOwn };
        ControlJoint middle = Joint("m", RotationPolicy.TurnWithSkin) with { Side = Side.Middle };

        JointPlacement[] placed = Apply([left, right, middle], symmetric: true, joint => joint.Position);

        var mirror = Matrix3d.Diagonal(-1, 1, 1);
        AssertSame(SkinTurn * Own.ToMatrix(), placed[0].Rotation);
        AssertSame(mirror * SkinTurn * mirror * ParentsOwn.ToMatrix(), placed[1].Rotation);
        Matrix3d turn = placed[2].Rotation.ToMatrix() * Own.ToMatrix().Transposed();
        Assert.InRange(Vector3d.Distance(turn * Vector3d.UnitX, Vector3d.UnitX), 0, Exact);
    }

    /// <summary>Four in a line with a bend after the third, a second branch along the first line, and two in one place.</summary>
    [Fact]
    public void Lines_are_straight_chains_of_three_places_and_more()
    {
        Vector3d[] at = [new(0, 0, 0), new(0, 1, 0), new(0, 3, 0), new(1, 4, 0), new(2, 5, 0), new(0, 3, 0), new(0, 7, 0), new(5, 5, 5)];
        string?[] parents = [null, "0", "1", "2", "3", "2", "5", "0"];
        ControlJoint[] joints = [.. at.Select((p, i) => Joint($"{i}", RotationPolicy.KeepWorld) with { Position = p, Parent = parents[i] })];

        IReadOnlyList<List<int>> lines = LatticeLines.Of(joints, [0, 1, 2, 3, 4, 2, 6, 7], LatticeInvariants.Straight);

        Assert.Equal(["0 1 2 6", "2 3 4"], lines.Select(line => string.Join(' ', line)));
    }

    private static JointPlacement[] Apply(params ControlJoint[] joints) => Apply(joints, symmetric: false, joint => joint.Position);

    private static JointPlacement[] Apply(ControlJoint[] joints, bool symmetric, Func<ControlJoint, Vector3d> place)
    {
        var placed = joints.ToDictionary(joint => joint.Name, joint => new JointPlacement
        {
            Joint = joint,
            Position = place(joint),
            Rotation = joint.Rotation,
            State = JointState.Modelled,
            LocalSize = 1,
            Lift = 0,
            Radius90 = 0,
        }, StringComparer.Ordinal);
        IReadOnlySet<string> mirrored = symmetric ? placed.Keys.ToHashSet(StringComparer.Ordinal) : [];
        JointRotations.Apply(new JointLattice(joints, [], []), _ => SkinTurn, placed, new Dictionary<string, Matrix3d>(), mirrored);
        return [.. joints.Select(joint => placed[joint.Name])];
    }

    private static ControlJoint Joint(string name, RotationPolicy policy) => new()
    {
        Name = name,
        Kind = JointKind.Pivot,
        Position = Vector3d.Zero,
        Rotation = Own,
        Ride = Ride.Inner,
        RotationPolicy = policy,
    };

    private static void AssertSame(Matrix3d expected, Rotation3d actual) =>
        Assert.InRange(Rotation3d.AngleDegrees(Rotation3d.FromMatrix(expected), actual), 0, 1e-6);

    private static Rotation3d Random() => Rotation3d.FromMatrix(Draw.Rotation(Seeded));
}
