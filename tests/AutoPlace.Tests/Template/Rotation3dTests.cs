using AutoPlace.Geometry;
using AutoPlace.Template;
using CsCheck;
using Xunit;

namespace AutoPlace.Tests.Template;

public sealed class Rotation3dTests
{
    private static readonly Gen<Rotation3d> AnyRotation =
        from x in Gen.Double[-1, 1]
        from y in Gen.Double[-1, 1]
        from z in Gen.Double[-1, 1]
        from w in Gen.Double[-1, 1]
        let q = new Rotation3d(x, y, z, w)
        where q.Norm > 0.1
        select q.Normalized();

    [Fact]
    public void Quarter_turn_about_z_takes_x_to_y()
    {
        var q = new Rotation3d(0, 0, Math.Sqrt(0.5), Math.Sqrt(0.5));

        AssertNear(Vector3d.UnitY, q.Rotate(Vector3d.UnitX));
        AssertNear(Vector3d.UnitY, q.ToMatrix() * Vector3d.UnitX);
    }

    [Fact]
    public void Matrix_and_quaternion_say_the_same() => AnyRotation.Sample(q =>
    {
        var v = new Vector3d(0.3, -1.2, 0.7);
        AssertNear(q.Rotate(v), q.ToMatrix() * v);
        Assert.Equal(0, Rotation3d.AngleDegrees(q, Rotation3d.FromMatrix(q.ToMatrix())), 1e-6);
    });

    [Fact]
    public void Half_turns_about_each_axis_survive_the_matrix()
    {
        foreach (Rotation3d q in (Rotation3d[])[new(1, 0, 0, 0), new(0, 1, 0, 0), new(0, 0, 1, 0)])
        {
            Assert.Equal(q, Rotation3d.FromMatrix(q.ToMatrix()).Canonical());
        }
    }

    [Fact]
    public void Product_turns_by_the_right_factor_first() => Gen.Select(AnyRotation, AnyRotation).Sample((a, b) =>
    {
        var v = new Vector3d(0.3, -1.2, 0.7);
        AssertNear(a.Rotate(b.Rotate(v)), (a * b).Rotate(v));
    });

    [Fact]
    public void Canonical_and_negated_quaternion_are_the_same_rotation() => AnyRotation.Sample(q =>
    {
        var negated = new Rotation3d(-q.X, -q.Y, -q.Z, -q.W);
        Assert.Equal(q.Canonical(), negated.Canonical());
        Assert.Equal(0, Rotation3d.AngleDegrees(q, negated), 1e-6);
    });

    private static void AssertNear(Vector3d expected, Vector3d actual) =>
        Assert.True(Vector3d.Distance(expected, actual) < 1e-12, $"{expected} against {actual}");
}
