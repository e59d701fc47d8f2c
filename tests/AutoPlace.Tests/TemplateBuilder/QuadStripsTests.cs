using AutoPlace.Geometry;
using AutoPlace.TemplateBuilder.Cast.Remeshing;
using AutoPlace.Tests.Heads;
using Xunit;

namespace AutoPlace.Tests.TemplateBuilder;

public sealed class QuadStripsTests
{
    [Fact]
    public void Cut_doubles_the_quads_of_one_strip_round_a_cube_sphere()
    {
        const int n = 4;
        PolygonMesh sphere = Shapes.CubeSphere(n);
        var strips = new QuadStrips(
            sphere.Positions.ToArray().Select(p => (Vector3d)p), Enumerable.Range(0, sphere.FaceCount).Select(f => ("ball", sphere.Face(f).ToArray())));
        (int a, int b) = (sphere.Face(0)[0], sphere.Face(0)[1]);

        strips.Cut(a, b);

        Assert.Equal(sphere.FaceCount + (4 * n), strips.Quads.Count);
        Assert.Equal(sphere.VertexCount + (4 * n), strips.Points.Count);
        Assert.False(strips.IsWhole(a, b));

        // Still closed, and wound as before.
        var cut = new MeshAdjacency(new PolygonMesh(
            [.. strips.Points.Select(p => (System.Numerics.Vector3)p)],
            [.. Enumerable.Range(0, strips.Quads.Count + 1).Select(q => 4 * q)],
            [.. strips.Quads.SelectMany(quad => quad.Corners)]));
        Assert.All(Enumerable.Range(0, cut.EdgeCount), e => Assert.True(cut.EdgeFaces(e).Length == 2 && !cut.IsWindingBroken(e)));
    }

    [Fact]
    public void Line_gets_the_vertices_that_were_put_into_its_edges()
    {
        PolygonMesh grid = Shapes.Grid(2, 1);
        var strips = new QuadStrips(
            grid.Positions.ToArray().Select(p => (Vector3d)p), Enumerable.Range(0, grid.FaceCount).Select(f => ("sheet", grid.Face(f).ToArray())));
        int[] first = grid.Face(0).ToArray();

        strips.Cut(first[0], first[1]);
        strips.Cut(first[0], strips.Quads.SelectMany(quad => quad.Corners).First(v => v >= grid.VertexCount));

        int[] line = [.. strips.Along([first[0], first[1]])];
        Assert.Equal((first[0], first[1]), (line[0], line[3]));
        Assert.Equal(3, Array.IndexOf(line, first[1]));
        Vector3d from = strips.Points[first[0]], to = strips.Points[first[1]];
        Assert.Equal(Vector3d.Lerp(from, to, 0.25), strips.Points[line[1]]);
        Assert.Equal(Vector3d.Lerp(from, to, 0.5), strips.Points[line[2]]);
    }
}
