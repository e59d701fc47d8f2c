using System.Numerics;
using AutoPlace.Geometry;
using AutoPlace.Rendering;
using Xunit;

namespace AutoPlace.Tests.Rendering;

public sealed class RasterizerTests
{
    [Fact]
    public void Plane_has_closed_form_depth_everywhere()
    {
        // z = 0.2 + 0.5 x - 0.25 y, seen from the front.
        static float Height(float x, float y) => 0.2f + (0.5f * x) - (0.25f * y);
        Vector3[] corners = [new(-3, -3, Height(-3, -3)), new(3, -3, Height(3, -3)), new(3, 3, Height(3, 3)), new(-3, 3, Height(-3, 3))];
        OrthographicView view = OrthographicView.Around(new(0.1f, 0.2f, 0.3f), 0, 0, 1.5f, 97);
        var buffer = new VisibilityBuffer(view.Size);
        Rasterizer.Rasterize(new TriangleMesh(corners, [0, 1, 2, 0, 2, 3]), view, buffer);
        for (int pixel = 0; pixel < buffer.Z.Length; pixel++)
        {
            Vector3 p = view.Unproject((pixel % 97) + 0.5f, (pixel / 97) + 0.5f, 0);
            Assert.Equal(Height(p.X, p.Y) - 0.3f, buffer.Z[pixel], SnapTolerance(view, slope: 0.75f));
        }
    }

    [Theory]
    [InlineData(0, 0)]
    [InlineData(40, 20)]
    [InlineData(-75, -30)]
    public void Ellipsoid_has_closed_form_depth_and_normal(float yaw, float pitch)
    {
        Vector3 radii = new(0.8f, 1.4f, 1.1f), centre = new(0.05f, -0.1f, 0.2f);
        TriangleMesh mesh = Shapes.Ellipsoid(radii, 128);
        OrthographicView view = OrthographicView.Around(centre, yaw, pitch, 1.8f, 128);
        var buffer = new VisibilityBuffer(view.Size);
        Rasterizer.Rasterize(mesh, view, buffer);
        var normals = new Vector3[128 * 128];
        ViewNormals.Write(buffer, view, mesh, Shapes.EllipsoidNormals(mesh, radii), normals);
        int seen = 0;
        for (int pixel = 0; pixel < normals.Length; pixel++)
        {
            // |(o + z t) / r|² = 1 along the pixel's ray: the larger root is what the viewer sees.
            Vector3 o = view.Unproject((pixel % 128) + 0.5f, (pixel / 128) + 0.5f, 0) / radii, t = view.Toward / radii;
            float discriminant = (Vector3.Dot(o, t) * Vector3.Dot(o, t)) - (t.LengthSquared() * (o.LengthSquared() - 1));
            if (discriminant > 0.05f)
            {
                float z = (-Vector3.Dot(o, t) + MathF.Sqrt(discriminant)) / t.LengthSquared();
                Vector3 n = Vector3.Normalize((o + (t * z)) / radii);
                Assert.Equal(z, buffer.Z[pixel], 0.002f);
                Assert.Equal(Vector3.Dot(n, view.Right), normals[pixel].X, 0.003f);
                Assert.Equal(Vector3.Dot(n, view.Up), normals[pixel].Y, 0.003f);
                Assert.Equal(Vector3.Dot(n, view.Toward), normals[pixel].Z, 0.003f);
                seen++;
            }
            else if (discriminant < -0.02f)
            {
                Assert.Equal(VisibilityBuffer.Background, buffer.Triangles[pixel]);
            }
        }

        Assert.True(seen > 3000);
    }

    [Fact]
    public void Fans_cover_each_pixel_of_their_outline_exactly_once()
    {
        var random = new Random(5);
        for (int round = 0; round < 60; round++)
        {
            // A square cut into a fan about an inner point. Corners lie on pixel centres in half of the rounds, so that
            // edges run exactly through pixel centres.
            const int size = 48;
            bool onCentres = round % 2 == 0;
            float Along()
            {
                float at = 6 + (36 * random.NextSingle());
                return onCentres ? MathF.Floor(at) + 0.5f : at;
            }

            Vector2[] outline = [new(4.5f, 4.5f), new(Along(), 4.5f), new(43.5f, 4.5f), new(43.5f, 43.5f), new(Along(), 43.5f), new(4.5f, 43.5f)];
            Vector2 hub = new(Along(), Along());
            var covered = new int[size * size];
            for (int i = 0; i < outline.Length; i++)
            {
                Vector2 from = outline[i], to = outline[(i + 1) % outline.Length];
                foreach (int pixel in Covered(size, random.Next(2) == 0 ? [hub, from, to] : [to, from, hub]))
                {
                    covered[pixel]++;
                }
            }

            for (int pixel = 0; pixel < covered.Length; pixel++)
            {
                // Top and left borders belong to the square, right and bottom ones don't.
                int x = pixel % size, y = pixel / size;
                Assert.Equal(x is >= 4 and < 43 && y is >= 4 and < 43 ? 1 : 0, covered[pixel]);
            }
        }
    }

    [Fact]
    public void Mirrored_mesh_gives_the_mirrored_image()
    {
        TriangleMesh mesh = RandomMesh(new Random(11), 400, 0.4f);
        var positions = mesh.Positions.ToArray();
        for (int v = 0; v < positions.Length; v++)
        {
            positions[v].X = -positions[v].X;
        }

        foreach (int size in (int[])[64, 67, 128])
        {
            foreach (float yaw in (float[])[0, 35, -70])
            {
                var centre = new Vector3(0, -0.2f, 0.1f);
                VisibilityBuffer image = Draw(mesh, OrthographicView.Around(centre, yaw, 0, 1.5f, size));
                VisibilityBuffer mirrored = Draw(mesh.WithPositions(positions), OrthographicView.Around(centre, -yaw, 0, 1.5f, size));
                for (int pixel = 0; pixel < image.Z.Length; pixel++)
                {
                    int other = pixel + size - 1 - (2 * (pixel % size));
                    Assert.Equal(image.Triangles[pixel], mirrored.Triangles[other]);
                    Assert.Equal(image.Z[pixel], mirrored.Z[other]);
                }
            }
        }
    }

    [Fact]
    public void Order_of_triangles_does_not_matter_even_at_equal_depth()
    {
        // All on the plane z = 0: every overlap is a tie.
        var random = new Random(3);
        TriangleMesh mesh = RandomMesh(random, 300, 0.7f);
        TriangleMesh flat = mesh.WithPositions([.. mesh.Positions.ToArray().Select(p => p with { Z = 0 })]);
        int[] order = [.. Enumerable.Range(0, flat.TriangleCount)];
        random.Shuffle(order);
        var shuffled = new TriangleMesh(flat.Positions.ToArray(), [.. order.SelectMany(t => flat.Indices.Slice(3 * t, 3).ToArray())]);
        OrthographicView view = OrthographicView.Around(Vector3.Zero, 0, 0, 1.2f, 96);
        VisibilityBuffer first = Draw(flat, view), second = Draw(shuffled, view);
        for (int pixel = 0; pixel < first.Z.Length; pixel++)
        {
            int winner = second.Triangles[pixel];
            Assert.Equal(first.Triangles[pixel], winner == VisibilityBuffer.Background ? winner : order[winner]);
        }
    }

    [Fact]
    public void Number_of_threads_does_not_matter()
    {
        TriangleMesh mesh = RandomMesh(new Random(17), 2000, 0.3f);
        IReadOnlyList<OrthographicView> views = [.. ViewRing.Whole(64), .. ViewRing.Close(96)];
        VisibilityBuffer[] alone = [.. views.Select(v => Draw(mesh, v))];
        foreach (int threads in (int[])[1, 2, 5, 0])
        {
            VisibilityBuffer[] together = [.. views.Select(v => new VisibilityBuffer(v.Size))];
            Rasterizer.Rasterize(mesh, views[1], together[0]); // must be cleared
            Rasterizer.RasterizeAll(mesh, views, together, threads, TestContext.Current.CancellationToken);
            for (int i = 0; i < views.Count; i++)
            {
                AssertSame(alone[i], together[i]);
            }
        }
    }

    [Fact]
    public void Nearer_surface_wins_from_either_side()
    {
        TriangleMesh mesh = new(
            [new(-1, -1, -0.5f), new(1, -1, -0.5f), new(0, 1, -0.5f), new(-1, -1, 0.5f), new(1, -1, 0.5f), new(0, 1, 0.5f)],
            [0, 1, 2, 3, 4, 5]);
        Assert.Equal(1, Draw(mesh, OrthographicView.Around(Vector3.Zero, 0, 0, 2, 32)).Triangles[(16 * 32) + 16]);
        Assert.Equal(0, Draw(mesh, OrthographicView.Around(Vector3.Zero, 180, 0, 2, 32)).Triangles[(16 * 32) + 16]);
    }

    [Fact]
    public void Sizes_that_differ_are_refused()
    {
        TriangleMesh mesh = RandomMesh(new Random(1), 1, 1);
        OrthographicView view = OrthographicView.Around(Vector3.Zero, 0, 0, 2, 32);
        var buffer = new VisibilityBuffer(31);
        Assert.Throws<ArgumentException>("buffer", () => Rasterizer.Rasterize(mesh, view, buffer));
        CancellationToken token = TestContext.Current.CancellationToken;
        Assert.Throws<ArgumentException>("buffers", () => Rasterizer.RasterizeAll(mesh, [view], [buffer], 0, token));
        Assert.Throws<ArgumentException>("buffers", () => Rasterizer.RasterizeAll(mesh, [view], [], 0, token));
    }

    internal static TriangleMesh RandomMesh(Random random, int triangles, float extent)
    {
        float Signed() => (2 * random.NextSingle()) - 1;
        var positions = new Vector3[3 * triangles];
        for (int v = 0; v < positions.Length; v++)
        {
            Vector3 offset = new Vector3(Signed(), Signed(), Signed()) * extent;
            positions[v] = v % 3 == 0 ? new(Signed(), Signed(), Signed()) : positions[v - (v % 3)] + offset;
        }

        return new TriangleMesh(positions, [.. Enumerable.Range(0, positions.Length)]);
    }

    internal static void AssertSame(VisibilityBuffer expected, VisibilityBuffer actual)
    {
        Assert.True(expected.Triangles.SequenceEqual(actual.Triangles), "other triangles are seen");
        Assert.True(expected.Z.SequenceEqual(actual.Z), "other depths are seen");
        for (int pixel = 0; pixel < expected.Z.Length; pixel++)
        {
            bool same = expected.Triangles[pixel] == VisibilityBuffer.Background
                || (expected.WeightB[pixel] == actual.WeightB[pixel] && expected.WeightC[pixel] == actual.WeightC[pixel]);
            Assert.True(same, "other points are seen");
        }
    }

    private static VisibilityBuffer Draw(TriangleMesh mesh, OrthographicView view)
    {
        var buffer = new VisibilityBuffer(view.Size);
        Rasterizer.Rasterize(mesh, view, buffer);
        return buffer;
    }

    private static List<int> Covered(int size, Vector2[] triangle)
    {
        // One unit is one pixel, so the corners lie where the caller says.
        OrthographicView view = OrthographicView.Around(Vector3.Zero, 0, 0, size / 2f, size);
        Vector3[] positions = [.. triangle.Select(p => view.Unproject(p.X, p.Y, 0))];
        VisibilityBuffer buffer = Draw(new TriangleMesh(positions, [0, 1, 2]), view);
        var pixels = new List<int>();
        for (int pixel = 0; pixel < size * size; pixel++)
        {
            if (buffer.Triangles[pixel] == 0)
            {
                pixels.Add(pixel);
            }
        }

        return pixels;
    }

    // Snapping moves a vertex by up to half a sub-pixel each way, and with it the surface by its slope times that.
    private static float SnapTolerance(OrthographicView view, float slope) => (slope / (2 * RasterVertex.SubPixels * view.PixelsPerUnit)) + 1e-5f;
}
