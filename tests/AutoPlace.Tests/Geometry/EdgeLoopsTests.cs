using AutoPlace.Geometry;
using AutoPlace.Tests.Heads;
using Xunit;

namespace AutoPlace.Tests.Geometry;

public sealed class EdgeLoopsTests
{
    public static IEnumerable<TheoryDataRow<string>> Meshes => AwkwardMeshes.Names;

    [Fact]
    public void Cube_sphere_has_closed_loops_round_it_and_open_ones_between_its_corners()
    {
        const int n = 6;
        var adjacency = new MeshAdjacency(Shapes.CubeSphere(n));
        IReadOnlyList<VertexPath> loops = EdgeLoops.All(adjacency);

        // Across each axis n - 1 circles of 4 n edges; along the 12 cube edges lines that end at the corners.
        Assert.Equal(3 * (n - 1), loops.Count(l => l.IsClosed && l.EdgeCount == 4 * n));
        Assert.Equal(12, loops.Count(l => !l.IsClosed && l.EdgeCount == n));
        Assert.Equal((3 * (n - 1)) + 12, loops.Count);
        Assert.All(loops.Where(l => !l.IsClosed), l => Assert.Equal((3, 3), (adjacency.Valence(l.Vertices[0]), adjacency.Valence(l.Vertices[^1]))));
    }

    [Theory]
    [MemberData(nameof(Meshes))]
    public void Each_edge_belongs_to_one_loop_and_finds_it(string name)
    {
        var adjacency = new MeshAdjacency(AwkwardMeshes.Build(name));
        var seen = new int[adjacency.EdgeCount];
        foreach (VertexPath loop in EdgeLoops.All(adjacency))
        {
            int[] edges = Edges(adjacency, loop);
            foreach (int edge in edges)
            {
                seen[edge]++;
            }

            Assert.Equal(edges.Order(), Edges(adjacency, EdgeLoops.Through(adjacency, edges[^1])).Order());
        }

        Assert.All(seen, count => Assert.Equal(1, count));
    }

    [Fact]
    public void Loop_on_a_grid_runs_straight_from_border_to_border()
    {
        PolygonMesh mesh = Shapes.Grid(4, 3);
        var adjacency = new MeshAdjacency(mesh);
        VertexPath loop = EdgeLoops.Through(adjacency, adjacency.FindEdge(6, 7));
        Assert.Equal([5, 6, 7, 8, 9], loop.Vertices);
        Assert.False(loop.IsClosed);

        // The border itself: its vertices have three edges or two.
        Assert.Equal(1, EdgeLoops.Through(adjacency, adjacency.FindEdge(0, 1)).EdgeCount);
    }

    private static int[] Edges(MeshAdjacency adjacency, VertexPath path) =>
        [.. Enumerable.Range(0, path.EdgeCount).Select(i => adjacency.FindEdge(path.Vertices[i], path.Vertices[(i + 1) % path.Vertices.Count]))];
}
