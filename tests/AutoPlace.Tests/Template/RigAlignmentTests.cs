using AutoPlace.Geometry;
using AutoPlace.Template;
using Xunit;

namespace AutoPlace.Tests.Template;

/// <summary>On a head that is an ellipsoid beside the file's origin, in a file whose unit is the interocular distance.</summary>
public sealed class RigAlignmentTests
{
    [Fact]
    public void Rig_in_centimetres_is_laid_on_a_head_in_metres()
    {
        Rig rig = Of([.. Directions().Select(d => OnHead(d) * 100)]);

        Rig aligned = RigAlignment.Align(rig, Lift, 1);

        Assert.All(aligned.Joints, joint => Assert.Equal(0, Lift(joint.Position), 1e-9));
        Assert.Contains("multiplied by 0.01", Assert.Single(aligned.Notes), StringComparison.Ordinal);
    }

    /// <summary>A thousandth of it would lie on the skin all right, in a spot the size of an eyelid.</summary>
    [Fact]
    public void Rig_that_is_elsewhere_is_not_shrunk_until_it_lies_on_a_spot_of_the_skin()
    {
        Rig rig = Of([.. Directions().Select(d => (OnHead(Vector3d.UnitZ) * 1000) + (d * 50))]);

        Assert.Same(rig, RigAlignment.Align(rig, Lift, 1));
    }

    private static Vector3d OnHead(Vector3d d) => new(0.9 + d.X, 0.4 + (0.8 * d.Y), 0.2 + (0.5 * d.Z));

    // 0 on the skin, and as a distance is where it's near.
    private static double Lift(Vector3d p) => new Vector3d(p.X - 0.9, (p.Y - 0.4) / 0.8, (p.Z - 0.2) / 0.5).Length - 1;

    private static IEnumerable<Vector3d> Directions() =>
        from x in Enumerable.Range(-1, 3)
        from y in Enumerable.Range(-1, 3)
        from z in Enumerable.Range(-1, 3)
        where x != 0 || y != 0 || z != 0
        select new Vector3d(x, y, z).Normalized();

    private static Rig Of(Vector3d[] positions) =>
        new("face.json", [.. positions.Select((p, i) => new RigJoint($"joint_{i}", null, p, Rotation3d.Identity))], []);
}
