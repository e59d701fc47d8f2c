using System.Numerics;
using AutoPlace.Geometry;
using AutoPlace.Rendering;
using Xunit;

namespace AutoPlace.Tests.Rendering;

public sealed class ViewTensorTests
{
    private static readonly OrthographicView Front = OrthographicView.Around(Vector3.Zero, 0, 0, 2, 64);

    [Fact]
    public void Sphere_gives_closed_form_depth_normal_and_mask()
    {
        const float radius = 1.5f;
        OrthographicView view = OrthographicView.Around(new(0.1f, -0.2f, 0.3f), 25, -10, 2, 64);
        TriangleMesh mesh = Shapes.Ellipsoid(new(radius), 96);
        float[] planes = Draw(mesh, view, Shapes.EllipsoidNormals(mesh, new(radius)), []);
        int area = 64 * 64;
        int checkedPixels = 0;
        for (int pixel = 0; pixel < area; pixel++)
        {
            Vector3 onPlane = view.Unproject((pixel % 64) + 0.5f, (pixel / 64) + 0.5f, 0);
            float towards = Vector3.Dot(onPlane, view.Toward);
            Vector3 across = onPlane - (view.Toward * towards);
            float inside = (radius * radius) - across.LengthSquared();
            if (MathF.Abs(across.Length() - radius) < 0.01f)
            {
                continue; // the silhouette of the facets lies within a hundredth of the circle
            }

            Assert.Equal(inside > 0 ? 1 : 0, planes[(4 * area) + pixel]);
            if (inside > 0.25f)
            {
                float z = MathF.Sqrt(inside) - towards;
                Vector3 normal = (onPlane + (view.Toward * z)) / radius;
                Assert.Equal(z / 2, planes[pixel], 0.002f);
                Assert.Equal(Vector3.Dot(normal, view.Right), planes[area + pixel], 0.005f);
                Assert.Equal(Vector3.Dot(normal, view.Up), planes[(2 * area) + pixel], 0.005f);
                Assert.Equal(Vector3.Dot(normal, view.Toward), planes[(3 * area) + pixel], 0.005f);
                checkedPixels++;
            }
        }

        Assert.True(checkedPixels > 1000);
    }

    [Fact]
    public void Mirrored_planes_are_those_of_the_mirrored_mesh_from_the_other_side()
    {
        static OrthographicView At(float yaw) => OrthographicView.Around(Vector3.Zero, yaw, 0, 2, 64);
        TriangleMesh mesh = Shapes.Ellipsoid(new(0.7f, 1.1f, 1.4f), 24);
        mesh = mesh.WithPositions([.. mesh.Positions.ToArray().Select(p => p + new Vector3(0.3f * p.Y, 0, 0))]);
        int[] reversed = [.. mesh.Indices.ToArray().Reverse()];
        var image = new TriangleMesh([.. mesh.Positions.ToArray().Select(p => p * new Vector3(-1, 1, 1))], reversed);
        float[] planes = Draw(mesh, At(-35), [], []), expected = Draw(image, At(35), [], []);
        ViewTensor.Mirror(planes, 64);
        int area = 64 * 64, same = 0, seen = 0;
        for (int pixel = 0; pixel < area; pixel++)
        {
            // At the silhouette and at edges either side may win.
            seen += expected[(4 * area) + pixel] == 1 ? 1 : 0;
            same += expected[(4 * area) + pixel] == 1
                && Enumerable.Range(0, 5).All(c => MathF.Abs(planes[(c * area) + pixel] - expected[(c * area) + pixel]) < 1e-4f) ? 1 : 0;
        }

        Assert.True(seen > 500);
        Assert.InRange(same, 0.98 * seen, seen);
        Assert.Throws<ArgumentException>(() => ViewTensor.Mirror(new float[7], 64));
    }

    [Fact]
    public void Background_is_zero_in_all_planes()
    {
        var mesh = new TriangleMesh([new(-1, -1, 0), new(0, -1, 0), new(-1, 0, 0)], [0, 1, 2]);
        float[] planes = Draw(mesh, Front, [], [7]);
        for (int pixel = 0; pixel < 64 * 64; pixel++)
        {
            if (planes[(4 * 64 * 64) + pixel] == 0)
            {
                for (int channel = 0; channel < ViewTensor.Channels; channel++)
                {
                    Assert.Equal(0, planes[(channel * 64 * 64) + pixel]);
                }
            }
        }

        Assert.Equal(0, planes.AsSpan(5 * 64 * 64).IndexOfAnyExcept(0f) + 1);
    }

    [Theory]
    [InlineData(false)]
    [InlineData(true)]
    public void Normals_face_the_viewer_whichever_way_the_triangle_is_wound(bool smooth)
    {
        Vector3 normal = Vector3.Normalize(new Vector3(0.3f, -0.4f, -1));
        Vector3 u = Vector3.Normalize(Vector3.Cross(normal, Vector3.UnitY)), v = Vector3.Cross(normal, u);
        foreach (int[] winding in (int[][])[[0, 1, 2], [0, 2, 1]])
        {
            var mesh = new TriangleMesh([-u - v, u - v, v], winding);
            float[] planes = Draw(mesh, Front, smooth ? [normal, normal, normal] : [], []);
            int centre = (32 * 64) + 32, area = 64 * 64;
            Assert.Equal(-normal.X, planes[area + centre], 1e-6f);
            Assert.Equal(-normal.Y, planes[(2 * area) + centre], 1e-6f);
            Assert.Equal(-normal.Z, planes[(3 * area) + centre], 1e-6f);
        }
    }

    [Fact]
    public void Border_marks_the_left_and_upper_side_of_a_material_change()
    {
        // Two squares side by side, meeting at x = 0 (column 32), a third material below y = 0 (row 32).
        Vector3[] positions = [new(-1, 1, 0), new(0, 1, 0), new(1, 1, 0), new(-1, 0, 0), new(0, 0, 0), new(1, 0, 0), new(-1, -1, 0), new(1, -1, 0)];
        var mesh = new TriangleMesh(positions, [0, 3, 4, 0, 4, 1, 1, 4, 5, 1, 5, 2, 3, 6, 5, 5, 6, 7]);
        float[] planes = Draw(mesh, Front, [], [0, 0, 1, 1, 2, 2]);
        for (int row = 0; row < 64; row++)
        {
            for (int column = 0; column < 64; column++)
            {
                bool vertical = column == 31 && row is >= 16 and < 32;
                bool horizontal = row == 31 && column is >= 16 and < 48;
                Assert.Equal(vertical || horizontal ? 1 : 0, planes[(5 * 64 * 64) + (row * 64) + column]);
            }
        }
    }

    [Fact]
    public void Wrong_lengths_are_refused()
    {
        var mesh = new TriangleMesh([new(-1, -1, 0), new(0, -1, 0), new(-1, 0, 0)], [0, 1, 2]);
        var buffer = new VisibilityBuffer(64);
        var planes = new float[ViewTensor.Length(64)];
        Assert.Throws<ArgumentException>("planes", () => ViewTensor.Write(buffer, Front, mesh, [], [], planes.AsSpan(1)));
        Assert.Throws<ArgumentException>("vertexNormals", () => ViewTensor.Write(buffer, Front, mesh, [Vector3.UnitX], [], planes));
        Assert.Throws<ArgumentException>("triangleMaterials", () => ViewTensor.Write(buffer, Front, mesh, [], [1, 2], planes));
        Assert.Throws<ArgumentException>("view", () => ViewTensor.Write(buffer, Front.WithSize(32), mesh, [], [], planes));
    }

    private static float[] Draw(TriangleMesh mesh, OrthographicView view, Vector3[] normals, int[] materials)
    {
        var buffer = new VisibilityBuffer(view.Size);
        Rasterizer.Rasterize(mesh, view, buffer);
        var planes = new float[ViewTensor.Length(view.Size)];
        Array.Fill(planes, float.NaN);
        ViewTensor.Write(buffer, view, mesh, normals, materials, planes);
        return planes;
    }
}
