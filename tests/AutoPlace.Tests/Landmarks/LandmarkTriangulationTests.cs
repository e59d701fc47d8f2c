using System.Numerics;
using AutoPlace.Geometry;
using AutoPlace.Landmarks;
using AutoPlace.Rendering;
using CsCheck;
using Xunit;

namespace AutoPlace.Tests.Landmarks;

public sealed class LandmarkTriangulationTests
{
    private const double Far = 10;

    [Fact]
    public void Exact_rays_meet_in_the_point()
    {
        Gen<float> unit = Gen.Float[-0.8f, 0.8f];
        Gen.Select(unit, unit, unit).Sample((x, y, z) =>
        {
            var truth = new Vector3(x, y, z);
            LandmarkObservation[] seen = [.. ViewRing.Whole().Select(v => Observe(v, truth, 0, 0))];
            (Vector3d found, _) = LandmarkTriangulation.Combine(seen, Vector3d.Zero, Far);
            Assert.True(Vector3d.Distance(found, truth) < 2e-3, $"{found} for {truth}");
        });
    }

    [Fact]
    public void One_wrong_view_of_five_hardly_matters()
    {
        var truth = new Vector3(0.2f, -0.4f, 0.3f);
        var seen = new List<LandmarkObservation>();
        foreach (float yaw in (float[])[0, 35, -35, 20, -20])
        {
            OrthographicView view = OrthographicView.Around(ViewRing.WholeCentre, yaw, 0, 2, 256);
            seen.Add(Observe(view, truth, yaw == 20 ? 40 : 0, yaw == 20 ? -30 : 0));
        }

        (Vector3d found, _) = LandmarkTriangulation.Combine(seen.ToArray(), Vector3d.Zero, Far);
        Assert.True(Vector3d.Distance(found, truth) < 0.03, found.ToString());
    }

    [Fact]
    public void Depth_is_less_certain_than_the_image_plane_with_narrow_views_only()
    {
        LandmarkObservation[] seen = [Observe(ViewRing.Whole()[0], Vector3.Zero, 0, 0)];
        (_, Matrix3d covariance) = LandmarkTriangulation.Combine(seen, Vector3d.Zero, 0.5);
        Assert.True(covariance.Row2.Z > 100 * covariance.Row0.X);
        Assert.Equal(0.25, covariance.Row2.Z, 0.001);
    }

    [Fact]
    public void Skin_under_the_ray_gives_the_depth()
    {
        var plane = new TangentPlane(new Vector3d(0, 0, 0.7), Vector3d.UnitZ);
        LandmarkObservation[] seen = [Observe(ViewRing.Whole()[0], new Vector3(0.1f, 0.2f, 0), 0, 0) with { Surface = plane }];
        (Vector3d found, _) = LandmarkTriangulation.Combine(seen, Vector3d.Zero, Far);
        Assert.True(Vector3d.Distance(found, new Vector3d(0.1, 0.2, 0.7)) < 1e-3, found.ToString());
    }

    private static LandmarkObservation Observe(OrthographicView view, Vector3 point, double dx, double dy)
    {
        Vector3 pixel = view.Project(point);
        return new LandmarkObservation(view, pixel.X + dx, pixel.Y + dy, 1, 1);
    }
}
