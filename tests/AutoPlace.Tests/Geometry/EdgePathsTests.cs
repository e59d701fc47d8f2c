using System.Numerics;
using AutoPlace.Geometry;
using Xunit;

namespace AutoPlace.Tests.Geometry;

public sealed class EdgePathsTests
{
    private const int Side = 9;

    [Fact]
    public void Along_the_edges_of_a_grid_distances_are_steps()
    {
        Dictionary<int, double> found = Visit(Grid(slit: false), Vertex(0, 0), reach: 3.5);

        Assert.Equal(0, found[Vertex(0, 0)]);
        Assert.Equal(3, found[Vertex(3, 0)], 1e-12);
        Assert.Equal(Math.Sqrt(2) * 2, found[Vertex(2, 2)], 1e-12);
        Assert.DoesNotContain(Vertex(4, 0), found.Keys);
    }

    [Fact]
    public void Across_a_slit_the_path_goes_round_its_end()
    {
        // Columns 3 and 4 hang together in row 0 alone.
        Dictionary<int, double> found = Visit(Grid(slit: true), Vertex(3, 4), reach: 100);

        Assert.True(found[Vertex(4, 4)] > 6, $"{found[Vertex(4, 4)]}");
    }

    [Fact]
    public void Visits_come_nearest_first_and_queries_do_not_disturb_each_other()
    {
        TriangleMesh grid = Grid(slit: false);
        var paths = new EdgePaths(grid, new MeshAdjacency(grid));
        for (int query = 0; query < 2; query++)
        {
            var distances = new List<double>();
            paths.Visit([Vertex(2, 2)], new Vector3d(2, 2, 0), 5, (_, d) => distances.Add(d));

            Assert.Equal(distances.Order(), distances);
            Assert.Equal(0, distances[0]);
        }
    }

    private static Dictionary<int, double> Visit(TriangleMesh mesh, int from, double reach)
    {
        var found = new Dictionary<int, double>();
        new EdgePaths(mesh, new MeshAdjacency(mesh)).Visit([from], mesh.Positions[from], reach, found.Add);
        return found;
    }

    private static int Vertex(int x, int y) => (y * Side) + x;

    // Unit squares, cut along the diagonal that runs up and to the right.
    private static TriangleMesh Grid(bool slit)
    {
        var indices = new List<int>();
        for (int y = 0; y + 1 < Side; y++)
        {
            for (int x = 0; x + 1 < Side; x++)
            {
                if (!slit || x != 3 || y == 0)
                {
                    indices.AddRange([Vertex(x, y), Vertex(x + 1, y), Vertex(x + 1, y + 1)]);
                    indices.AddRange([Vertex(x, y), Vertex(x + 1, y + 1), Vertex(x, y + 1)]);
                }
            }
        }

        return new TriangleMesh([.. Enumerable.Range(0, Side * Side).Select(i => new Vector3(i % Side, i / Side, 0))], [.. indices]);
    }
}
