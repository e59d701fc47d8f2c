using System.Numerics;
using AutoPlace.Rendering;
using Xunit;

namespace AutoPlace.Tests.Rendering;

public sealed class ViewRingTests
{
    [Fact]
    public void Frontal_views_show_the_subjects_left_at_the_right_of_the_image()
    {
        foreach (OrthographicView view in (OrthographicView[])[ViewRing.Whole()[0], ViewRing.Close()[0]])
        {
            Assert.Equal(Vector3.UnitX, view.Right);
            Assert.Equal(Vector3.UnitY, view.Up);
            Assert.Equal(Vector3.UnitZ, view.Toward);
        }
    }

    [Fact]
    public void Views_from_the_two_sides_mirror_each_other()
    {
        foreach (IReadOnlyList<OrthographicView> ring in (IReadOnlyList<OrthographicView>[])[ViewRing.Whole(), ViewRing.Close()])
        {
            Vector3 point = new(0.3f, -0.4f, 0.8f);
            Vector3 fromLeft = ring[1].Project(point), fromRight = ring[2].Project(point * new Vector3(-1, 1, 1));
            Assert.Equal(ring[1].Size - fromRight.X, fromLeft.X, 1e-4f);
            Assert.Equal(fromRight.Y, fromLeft.Y, 1e-4f);
            Assert.Equal(fromRight.Z, fromLeft.Z, 1e-6f);
            Assert.True(ring[1].Toward.X > 0, "the second view must look from the subject's left");
        }
    }

    [Fact]
    public void Both_eyes_and_the_chin_are_in_every_view()
    {
        foreach (OrthographicView view in (OrthographicView[])[.. ViewRing.Whole(), .. ViewRing.Close()])
        {
            // Menton of the mean head lies about 1.8 interocular distances below the eyes.
            foreach (Vector3 point in (Vector3[])[new(0.5f, 0, 0), new(-0.5f, 0, 0), new(0, -1.8f, 0.5f)])
            {
                Vector3 p = view.Project(point);
                Assert.InRange(p.X, 0, view.Size);
                Assert.InRange(p.Y, 0, view.Size);
            }
        }
    }
}
