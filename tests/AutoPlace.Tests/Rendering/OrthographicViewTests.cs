using System.Numerics;
using AutoPlace.Rendering;
using CsCheck;
using Xunit;

namespace AutoPlace.Tests.Rendering;

public sealed class OrthographicViewTests
{
    [Fact]
    public void Projection_and_unprojection_are_inverse() =>
        Gen.Select(Gen.Float[-180, 180], Gen.Float[-90, 90], Gen.Float[0.5f, 3], Gen.Float[-2, 2].Array[6])
            .Sample((yaw, pitch, halfSize, c) =>
            {
                OrthographicView view = OrthographicView.Around(new(c[0], c[1], c[2]), yaw, pitch, halfSize, 256);
                var point = new Vector3(c[3], c[4], c[5]);
                Vector3 p = view.Project(point);
                return Vector3.Distance(point, view.Unproject(p.X, p.Y, p.Z)) < 1e-5f;
            });

    [Fact]
    public void Axes_are_a_right_handed_orthonormal_frame() =>
        Gen.Select(Gen.Float[-180, 180], Gen.Float[-90, 90]).Sample((yaw, pitch) =>
        {
            OrthographicView view = OrthographicView.Around(Vector3.Zero, yaw, pitch, 1, 8);
            return Vector3.Distance(Vector3.Cross(view.Right, view.Up), view.Toward) < 1e-6f
                && MathF.Abs(view.Right.Length() - 1) < 1e-6f
                && MathF.Abs(Vector3.Dot(view.Right, view.Up)) < 1e-6f;
        });

    [Fact]
    public void Centre_projects_to_the_middle_and_the_half_size_to_the_border()
    {
        OrthographicView view = OrthographicView.Around(new(1, 2, 3), 90, 0, 2, 100);
        Assert.Equal(new Vector3(50, 50, 0), view.Project(new(1, 2, 3)));

        // From the subject's left the viewer sees the front (+Z) at the left border, up at the upper one.
        Assert.Equal(0, view.Project(new(1, 2, 5)).X, 1e-4f);
        Assert.Equal(0, view.Project(new(1, 4, 3)).Y, 1e-4f);
        Assert.Equal(0.5f, view.Project(new(1.5f, 2, 3)).Z, 1e-6f);
    }
}
