using System.Numerics;
using AutoPlace.Geometry;
using AutoPlace.Tests.Heads;
using Xunit;

namespace AutoPlace.Tests.Geometry;

public sealed class WindingNumberTests
{
    public static IEnumerable<TheoryDataRow<string>> Meshes => AwkwardMeshes.Names;

    [Theory]
    [InlineData("closed", 1)]
    [InlineData("mirrored-winding", -1)]
    [InlineData("degenerate-triangles", 1)]
    [InlineData("duplicate-faces", 2)]
    [InlineData("duplicate-turned-faces", 0)]
    [InlineData("tiny", 1)]
    [InlineData("huge", 1)]
    public void Closed_surface_is_one_inside_and_zero_outside(string name, double inside)
    {
        TriangleMesh mesh = AwkwardMeshes.Build(name);
        var winding = new WindingNumber(new BoundingVolumeHierarchy(mesh), double.PositiveInfinity);
        (Vector3 min, Vector3 max) = AwkwardMeshes.Bounds(mesh);
        Vector3 size = max - min;

        // One of the needles without area leaves a slit of 1e-9 open.
        double tolerance = name == "degenerate-triangles" ? 1e-9 : 1e-12;
        Assert.Equal(inside, winding.At((min + max) / 2), tolerance);
        Assert.Equal(inside, winding.At(((min + max) / 2) + (size * new Vector3(0.2f, -0.2f, 0.1f))), tolerance);
        Assert.Equal(0, winding.At(max), tolerance);
        Assert.Equal(0, winding.At(max + size), tolerance);
    }

    [Fact]
    public void Overlap_of_two_bodies_counts_twice()
    {
        TriangleMesh mesh = Shapes.Join(Shapes.Box(new(0, 0, 0), new(2, 2, 2)), Shapes.Box(new(1, 1, 1), new(3, 3, 3)));
        var winding = new WindingNumber(new BoundingVolumeHierarchy(mesh), double.PositiveInfinity);
        Assert.Equal(2, winding.At(new Vector3(1.5f, 1.4f, 1.6f)), 1e-12);
        Assert.Equal(1, winding.At(new Vector3(0.5f, 0.4f, 0.6f)), 1e-12);
        Assert.Equal(0, winding.At(new Vector3(2.5f, 0.5f, 0.5f)), 1e-12);
    }

    [Fact]
    public void Open_side_takes_its_solid_angle_off()
    {
        // Seen from the centre of a cube each side fills a sixth of the sphere.
        TriangleMesh box = Shapes.Keep(Shapes.Box(new(-1), new(1)), p => p.Y > -0.99f);
        var winding = new WindingNumber(new BoundingVolumeHierarchy(box), double.PositiveInfinity);
        Assert.Equal(5.0 / 6, winding.At(Vector3.Zero), 1e-12);
    }

    [Theory]
    [MemberData(nameof(Meshes))]
    public void Far_groups_change_little(string name)
    {
        TriangleMesh mesh = AwkwardMeshes.Build(name);
        var hierarchy = new BoundingVolumeHierarchy(mesh);
        var exact = new WindingNumber(hierarchy, double.PositiveInfinity);
        var coarse = new WindingNumber(hierarchy, 2);
        var fine = new WindingNumber(hierarchy, 4);
        (Vector3 min, Vector3 max) = AwkwardMeshes.Bounds(mesh);
        int layers = name is "duplicate-faces" or "self-intersecting" or "two-eyeballs" ? 2 : 1;
        var random = new Random(1);
        for (int i = 0; i < 200; i++)
        {
            Vector3 p = min + ((max - min) * 1.5f * (new Vector3(random.NextSingle(), random.NextSingle(), random.NextSingle()) - new Vector3(0.2f)));
            Assert.Equal(exact.At(p), coarse.At(p), 0.2 / 4 * layers);
            Assert.Equal(exact.At(p), fine.At(p), 0.2 / 16 * layers);
        }
    }

    [Fact]
    public void Batch_equals_single_points_to_the_last_bit()
    {
        var winding = new WindingNumber(new BoundingVolumeHierarchy(Shapes.Lump(8)));
        var random = new Random(2);
        Vector3[] points = [.. Enumerable.Range(0, 500).Select(_ => (Vector3)Draw.Point(random))];
        var numbers = new double[500];
        winding.At(points, numbers);
        Assert.Equal(points.Select(winding.At), numbers);
    }

    [Fact]
    public void Nothing_winds_round_nothing() =>
        Assert.Equal(0, new WindingNumber(new BoundingVolumeHierarchy(new TriangleMesh([], []))).At(Vector3.Zero));

    [Theory]
    [InlineData("closed", 1)]
    [InlineData("mixed-winding", 1)]
    [InlineData("duplicate-turned-faces", 1)]
    [InlineData("open-neck", 0.85)]
    public void Sight_tells_inside_however_faces_are_wound(string name, double least)
    {
        var hierarchy = new BoundingVolumeHierarchy(AwkwardMeshes.Build(name));
        Assert.InRange(InsideBySight.Share(hierarchy, new Vector3(0.1f, 0.2f, 0)), least, 1);
        Assert.InRange(InsideBySight.Share(hierarchy, new Vector3(0.1f, 0.2f, 3)), 0, 0.5);
        Assert.Equal(0, InsideBySight.Share(new BoundingVolumeHierarchy(new TriangleMesh([], [])), Vector3.Zero));
    }

    [Fact]
    public void Sight_measures_the_open_share()
    {
        TriangleMesh box = Shapes.Keep(Shapes.Box(new(-1), new(1)), p => p.Y > -0.99f);
        Assert.Equal(5.0 / 6, InsideBySight.Share(new BoundingVolumeHierarchy(box), Vector3.Zero), 0.02);
    }
}
