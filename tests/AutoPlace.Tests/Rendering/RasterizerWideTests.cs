using System.Numerics;
using AutoPlace.Geometry;
using AutoPlace.Rendering;
using Xunit;

namespace AutoPlace.Tests.Rendering;

/// <summary>The wide rasteriser and its scalar twin agree to the last bit.</summary>
public sealed class RasterizerWideTests
{
    // From triangles below a pixel to ones far larger than the image (both integer widths).
    private static readonly float[] Extents = [0.01f, 0.05f, 0.3f, 2, 40, 5000];

    [Fact]
    public void Wide_and_scalar_agree_at_all_row_widths()
    {
        for (int size = Rasterizer.LaneCount; size <= 67; size++)
        {
            foreach (float extent in Extents)
            {
                AssertTwinsAgree(RasterizerTests.RandomMesh(new Random(size), 120, extent), size);
            }
        }
    }

    [Theory]
    [InlineData(256)]
    [InlineData(509)]
    public void Wide_and_scalar_agree_on_large_images(int size)
    {
        foreach (float extent in Extents)
        {
            AssertTwinsAgree(RasterizerTests.RandomMesh(new Random(size), 150, extent), size);
        }
    }

    [Fact]
    public void Wide_and_scalar_agree_where_the_integer_width_changes()
    {
        // Edge lengths of 100 to 124 pixels, at the border of what fits 32 bits, in all directions.
        var random = new Random(2);
        for (int round = 0; round < 300; round++)
        {
            float length = 100 + (24 * random.NextSingle()), angle = random.NextSingle() * MathF.Tau;
            (float s, float c) = MathF.SinCos(angle);
            Vector3 a = new(-70 + (140 * random.NextSingle()), -70 + (140 * random.NextSingle()), 0);
            Vector3 u = new Vector3(c, s, 0.1f) * length, v = new Vector3(-s, c, -0.2f) * length;
            var mesh = new TriangleMesh([a, a + u, a + v], round % 2 == 0 ? [0, 1, 2] : [0, 2, 1]);
            AssertTwinsAgree(mesh, OrthographicView.Around(Vector3.Zero, 0, 0, 128, 256));
        }
    }

    [Fact]
    public void Rows_narrower_than_a_vector_are_drawn_too()
    {
        for (int size = 1; size < Rasterizer.LaneCount; size++)
        {
            TriangleMesh mesh = RasterizerTests.RandomMesh(new Random(size), 50, 2);
            OrthographicView view = OrthographicView.Around(Vector3.Zero, 0, 0, 1, size);
            var expected = new VisibilityBuffer(size);
            var actual = new VisibilityBuffer(size);
            Rasterizer.DrawScalar(mesh.Indices, Projected(mesh, view), expected);
            Rasterizer.Rasterize(mesh, view, actual);
            RasterizerTests.AssertSame(expected, actual);
            Assert.Contains(actual.Triangles.ToArray(), t => t >= 0);
        }
    }

    [Fact]
    public void Projection_and_its_scalar_twin_agree()
    {
        OrthographicView view = OrthographicView.Around(new(0.3f, -0.2f, 0.1f), 33, -12, 1.7f, 255);
        TriangleMesh mesh = RasterizerTests.RandomMesh(new Random(9), 67, 3000);
        RasterVertex[] vertices = Projected(mesh, view);
        for (int v = 0; v < vertices.Length; v++)
        {
            RasterVertex expected = RasterVertex.ProjectScalar(mesh.Positions[v], view);
            Assert.Equal((expected.X, expected.Y, expected.Z), (vertices[v].X, vertices[v].Y, vertices[v].Z));
        }
    }

    [Fact]
    public void Projection_is_the_views_own_to_half_a_sub_pixel()
    {
        OrthographicView view = OrthographicView.Around(new(0.3f, -0.2f, 0.1f), 33, -12, 1.7f, 255);
        TriangleMesh mesh = RasterizerTests.RandomMesh(new Random(9), 67, 1);
        RasterVertex[] vertices = Projected(mesh, view);
        for (int v = 0; v < vertices.Length; v++)
        {
            Vector3 expected = view.Project(mesh.Positions[v]);
            Assert.Equal(expected.X, vertices[v].X / (float)RasterVertex.SubPixels, (0.5f / RasterVertex.SubPixels) + 1e-4f);
            Assert.Equal(expected.Y, vertices[v].Y / (float)RasterVertex.SubPixels, (0.5f / RasterVertex.SubPixels) + 1e-4f);
            Assert.Equal(expected.Z, vertices[v].Z, 1e-5f);
        }
    }

    private static void AssertTwinsAgree(TriangleMesh mesh, int size) =>
        AssertTwinsAgree(mesh, OrthographicView.Around(Vector3.Zero, 20, 10, 1.3f, size));

    private static void AssertTwinsAgree(TriangleMesh mesh, OrthographicView view)
    {
        RasterVertex[] vertices = Projected(mesh, view);
        var scalar = new VisibilityBuffer(view.Size);
        var wide = new VisibilityBuffer(view.Size);
        Rasterizer.DrawScalar(mesh.Indices, vertices, scalar);
        Rasterizer.DrawWide(mesh.Indices, vertices, wide);
        RasterizerTests.AssertSame(scalar, wide);
    }

    private static RasterVertex[] Projected(TriangleMesh mesh, OrthographicView view)
    {
        var vertices = new RasterVertex[mesh.VertexCount];
        RasterVertex.Project(mesh.Positions, view, vertices);
        return vertices;
    }
}
