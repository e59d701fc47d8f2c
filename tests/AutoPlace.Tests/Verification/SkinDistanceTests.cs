using AutoPlace.Geometry;
using AutoPlace.Verification;
using Xunit;

namespace AutoPlace.Tests.Verification;

public sealed class SkinDistanceTests
{
    [Fact]
    public void Distance_from_a_cube_is_signed_at_faces_edges_and_corners()
    {
        var skin = new SkinDistance(new BoundingVolumeHierarchy(Cube()));

        Assert.Equal(0.5, skin.Signed(new(0, 0, 1.5)), 1e-6);
        Assert.Equal(-0.25, skin.Signed(new(0.1, 0.2, 0.75)), 1e-6);
        Assert.Equal(Math.Sqrt(2), skin.Signed(new(2, 0.3, 2)), 1e-6);
        Assert.Equal(Math.Sqrt(3), skin.Signed(new(-2, 2, 2)), 1e-6);
        Assert.Equal(1, skin.OrientationAt(new(0, 0, 1)));
    }

    /// <summary>A larger cube around that is inside out, as sheets of hair may be, and a flat strip: neither turns the small one over.</summary>
    [Fact]
    public void Each_piece_has_its_own_outside_and_flat_ones_follow_most_of_the_rest()
    {
        TriangleMesh cube = Cube();
        System.Numerics.Vector3[] large = [.. cube.Positions.ToArray().Select(p => p * 4)];
        int[] reversed = [.. cube.Indices.ToArray().Select((_, i) => 8 + cube.Indices[(3 * (i / 3)) + 2 - (i % 3)])];
        var both = new TriangleMesh(
            [.. cube.Positions, .. large, new(0, 0, 10), new(1, 0, 10), new(0, 1, 10)], [.. cube.Indices, .. reversed, 16, 17, 18]);

        var skin = new SkinDistance(new BoundingVolumeHierarchy(both));

        Assert.Equal(0.5, skin.Signed(new(0, 0, 1.5)), 1e-6);
        Assert.Equal(0.5, skin.Signed(new(0, 0, 4.5)), 1e-6);
        Assert.Equal(-0.5, skin.Signed(new(0, 3.5, 0)), 1e-6);
        Assert.Equal((1, -1, -1), (skin.OrientationAt(new(0, 0, 1)), skin.OrientationAt(new(0, 0, 4)), skin.OrientationAt(new(0.2, 0.2, 10))));
    }

    [Fact]
    public void Nothing_is_known_without_triangles() => Assert.False(new SkinDistance(new BoundingVolumeHierarchy(new TriangleMesh([], []))).IsKnown);

    private static TriangleMesh Cube()
    {
        int[] quads = [0, 2, 3, 1, 4, 5, 7, 6, 0, 1, 5, 4, 2, 6, 7, 3, 0, 4, 6, 2, 1, 3, 7, 5];
        int[] starts = [.. Enumerable.Range(0, 7).Select(f => 4 * f)];
        var mesh = new PolygonMesh(
            [.. Enumerable.Range(0, 8).Select(i => new System.Numerics.Vector3((2 * (i & 1)) - 1, (i & 2) - 1, ((i & 4) / 2) - 1))],
            starts,
            quads);
        return mesh.Triangulate(out _);
    }
}
