using System.Numerics;
using AutoPlace.Geometry;
using AutoPlace.Tests.Heads;
using Xunit;

namespace AutoPlace.Tests.Geometry;

public sealed class ClosedEdgeLoopsTests
{
    [Fact]
    public void All_circles_of_a_cube_sphere_are_found()
    {
        const int n = 6;

        IReadOnlyList<ClosedEdgeLoop> loops = ClosedEdgeLoops.In(Shapes.CubeSphere(n), Everywhere(Shapes.CubeSphere(n)));

        Assert.Equal(3 * (n - 1), loops.Count);
        Assert.All(loops, loop => Assert.Equal(4 * n, loop.Vertices.Length));
        Assert.All(loops.SelectMany(loop => loop.Faces), faces => Assert.Equal(2, faces.Length));
    }

    [Fact]
    public void Of_a_part_only_circles_within_it_are_found_and_not_its_rim()
    {
        PolygonMesh mesh = Shapes.CubeSphere(8);
        bool[] upper = [.. mesh.Positions.ToArray().Select(p => p.Y > -0.1f)];

        IReadOnlyList<ClosedEdgeLoop> loops = ClosedEdgeLoops.In(mesh, upper);

        // Circles of latitude but for the lowest, at which the part is cut.
        Assert.NotEmpty(loops);
        Assert.All(loops, loop => Assert.True(loop.Vertices.Max(v => mesh.Positions[v].Y) - loop.Vertices.Min(v => mesh.Positions[v].Y) < 0.5f));
        Assert.All(loops.SelectMany(loop => loop.Vertices), v => Assert.True(upper[v]));
    }

    [Fact]
    public void Border_of_triangles_is_found_though_nobody_laid_lines_through_them()
    {
        PolygonMesh tube = Tube(12, [(1, 0), (1, 1), (1, 2)]);
        PolygonMesh cut = Shapes.Polygons(tube.Triangulate(out _));

        Assert.Equal(3, ClosedEdgeLoops.In(tube, Everywhere(tube)).Count);
        Assert.Equal(2, ClosedEdgeLoops.In(cut, Everywhere(cut)).Count);
    }

    /// <summary>A tube that flares: at facets of n corners the slope is that of their middles, cos(pi / n) of the corners'.</summary>
    [Theory]
    [InlineData(0.5)]
    [InlineData(-0.5)]
    [InlineData(0)]
    public void Surface_turns_over_at_a_loop_by_the_angle_between_its_facets(double flare)
    {
        const int n = 12;
        PolygonMesh tube = Tube(n, [(1, 0), (1, 1), (1 + flare, 2)]);
        Vector3[] outward = [.. tube.Positions.ToArray().Select(p => Vector3.Normalize(new(p.X, 0, p.Z)))];
        ClosedEdgeLoop loop = Assert.Single(ClosedEdgeLoops.In(tube, Everywhere(tube)), l => l.Faces[0].Length == 2);

        double turn = -Math.Atan(flare * Math.Cos(Math.PI / n));

        Assert.Equal(turn, loop.Turn(tube, tube.Positions, outward)!.Value, 1e-6);
        Assert.Equal(-turn, loop.Turn(tube, tube.Positions, [.. outward.Select(o => -o)])!.Value, 1e-6);
    }

    [Fact]
    public void Border_has_no_turn()
    {
        PolygonMesh tube = Tube(12, [(1, 0), (1, 1)]);

        Assert.All(ClosedEdgeLoops.In(tube, Everywhere(tube)), loop => Assert.Null(loop.Turn(tube, tube.Positions, tube.Positions)));
    }

    private static bool[] Everywhere(PolygonMesh mesh) => [.. Enumerable.Repeat(true, mesh.VertexCount)];

    private static PolygonMesh Tube(int n, (double Radius, double Y)[] rings)
    {
        Vector3[] positions = [.. rings.SelectMany(ring => Enumerable.Range(0, n).Select(i =>
            new Vector3((float)(ring.Radius * Math.Cos(2 * Math.PI * i / n)), (float)ring.Y, (float)(ring.Radius * Math.Sin(2 * Math.PI * i / n)))))];
        int[] corners = [.. Enumerable.Range(0, rings.Length - 1).SelectMany(r => Enumerable.Range(0, n).SelectMany(i =>
            new[] { (r * n) + i, (r * n) + n + i, (r * n) + n + ((i + 1) % n), (r * n) + ((i + 1) % n) }))];
        return new PolygonMesh(positions, [.. Enumerable.Range(0, (corners.Length / 4) + 1).Select(f => 4 * f)], corners);
    }
}
