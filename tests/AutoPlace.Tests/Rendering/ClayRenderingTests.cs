using System.Numerics;
using AutoPlace.Geometry;
using AutoPlace.Rendering;
using Xunit;

namespace AutoPlace.Tests.Rendering;

public sealed class ClayRenderingTests
{
    private static readonly OrthographicView Front = OrthographicView.Around(Vector3.Zero, 0, 0, 1.5f, 48);

    [Fact]
    public void Floor_of_a_well_is_darker_than_the_same_floor_in_the_open()
    {
        Vector3[] floor = [new(-0.15f, -0.15f, 0), new(0.15f, -0.15f, 0), new(0.15f, 0.15f, 0), new(-0.15f, 0.15f, 0)];
        Vector3[] rim = [.. floor.Select(p => p + new Vector3(0, 0, 0.3f)), .. floor.Select(p => (p * 8) + new Vector3(0, 0, 0.3f))];
        int[] square = [0, 1, 2, 0, 2, 3];
        var indices = new List<int>(square);
        for (int i = 0; i < 4; i++)
        {
            int j = (i + 1) % 4;
            indices.AddRange([i, j, 4 + j, i, 4 + j, 4 + i, 4 + i, 4 + j, 8 + j, 4 + i, 8 + j, 8 + i]);
        }

        Vector4 open = ClayRendering.Draw(new TriangleMesh(floor, square), default, Front).Pixels[(24 * 48) + 24];
        Vector4 well = ClayRendering.Draw(new TriangleMesh([.. floor, .. rim], [.. indices]), default, Front).Pixels[(24 * 48) + 24];
        Assert.Equal(1, open.W);
        Assert.Equal(1, well.W);
        Assert.True(well.Y < 0.85f * open.Y, $"{well.Y} in the well, {open.Y} in the open");
    }

    [Fact]
    public void Coverage_is_the_share_of_the_four_samples_that_see_the_surface()
    {
        // A half plane whose border cuts through the middle of a pixel column.
        float pixel = 3f / 48;
        float border = pixel * 0.5f;
        var mesh = new TriangleMesh([new(-9, -9, 0), new(border, -9, 0), new(border, 9, 0), new(-9, 9, 0)], [0, 1, 2, 0, 2, 3]);
        ReadOnlySpan<Vector4> pixels = ClayRendering.Draw(mesh, default, Front).Pixels;
        Assert.Equal(1, pixels[(20 * 48) + 23].W);
        Assert.Equal(0.5f, pixels[(20 * 48) + 24].W);
        Assert.Equal(0, pixels[(20 * 48) + 25].W);
    }
}
