using AutoPlace.Geometry;
using AutoPlace.Registration;
using AutoPlace.Template;
using Xunit;

namespace AutoPlace.Tests.Registration;

public sealed class HeadWarpTests
{
    private static readonly TemplateHead Template = BuiltInTemplate.Load();

    // A lattice of points about a face, well fixed.
    private static readonly Vector3d[] Atlas =
        [.. from x in Enumerable.Range(-3, 7) from y in Enumerable.Range(-3, 7) from z in Enumerable.Range(-1, 3)
            select new Vector3d(x * 0.2, y * 0.2, z * 0.2)];

    /// <summary>An affine map turns normals by its inverse transpose, everywhere alike, also at the points it was fitted to.</summary>
    [Fact]
    public void Normals_of_an_affine_map_follow_its_inverse_transpose_also_at_fitted_points()
    {
        var linear = new Matrix3d(new(1.2, 0.1, 0), new(0, 0.8, 0.2), new(0.1, 0, 1.1));
        HeadWarp warp = Warp(p => linear * p);
        Vector3d normal = new Vector3d(0.3, -0.5, 0.8).Normalized();
        Vector3d expected = (linear.Inverse().Transposed() * normal).Normalized();

        foreach (Vector3d at in (Vector3d[])[Atlas[0], Atlas[70], new(0.05, 0.11, -0.03)])
        {
            Assert.Equal(0, Vector3d.Distance(warp.Normal(at, normal), expected), 1e-3);
        }
    }

    /// <summary>
    /// Two walls a hundredth apart are pushed through each other, as noise does with closed lips: a derivative between
    /// them mirrors, but the mouth hasn't turned.
    /// </summary>
    [Fact]
    public void Walls_pushed_through_each_other_do_not_turn_frames_over()
    {
        ControlPoint[] walls = [.. Enumerable.Range(-4, 9).SelectMany(x => new[] { 0.005, -0.005 }.Select(y =>
            new ControlPoint(new(x * 0.05, y, 0), new(x * 0.05, -3 * y, 0), 1e-4)))];
        HeadWarp warp = Warp(p => p, walls);

        for (double x = -0.15; x <= 0.15; x += 0.05)
        {
            (Matrix3d rotation, double scale) = warp.LocalSimilarity(new(x, 0.001, 0));
            Assert.Equal(1, rotation.Determinant, 1e-9);
            Assert.InRange(Rotation3d.AngleDegrees(Rotation3d.FromMatrix(rotation), Rotation3d.Identity), 0, 5);
            Assert.InRange(scale, 0.8, 1.1);
            Assert.True(warp.Normal(new(x, 0.001, 0), Vector3d.UnitY, inFold: true).Y > 0.99);
        }
    }

    private static HeadWarp Warp(Func<Vector3d, Vector3d> map, params ControlPoint[] more) =>
        HeadWarp.Fit(Template, [.. Atlas.Select(p => new ControlPoint(p, map(p), 1e-4)), .. more], []);
}
