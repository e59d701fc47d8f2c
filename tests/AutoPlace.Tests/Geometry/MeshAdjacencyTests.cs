using AutoPlace.Geometry;
using AutoPlace.Tests.Heads;
using Xunit;

namespace AutoPlace.Tests.Geometry;

public sealed class MeshAdjacencyTests
{
    public static IEnumerable<TheoryDataRow<string>> Meshes => AwkwardMeshes.Names;

    [Theory]
    [MemberData(nameof(Meshes))]
    public void Edges_and_faces_name_each_other(string name)
    {
        TriangleMesh mesh = AwkwardMeshes.Build(name);
        var adjacency = new MeshAdjacency(mesh);
        int sides = 0;
        for (int e = 0; e < adjacency.EdgeCount; e++)
        {
            MeshEdge edge = adjacency.Edges[e];
            Assert.True(edge.Low < edge.High);
            Assert.Equal(e, adjacency.FindEdge(edge.High, edge.Low));
            sides += adjacency.EdgeFaces(e).Length;
            foreach (int face in adjacency.EdgeFaces(e))
            {
                Assert.Contains(e, adjacency.FaceEdges(face).ToArray());
            }
        }

        int proper = 0;
        for (int c = 0; c < mesh.Indices.Length; c++)
        {
            proper += mesh.Indices[c] != mesh.Indices[c - (c % 3) + ((c + 1) % 3)] ? 1 : 0;
        }

        Assert.Equal(proper, sides);
        for (int v = 0; v < mesh.VertexCount; v++)
        {
            int[] others = [.. adjacency.VertexEdges(v).ToArray().Select(e => adjacency.Edges[e].Other(v))];
            Assert.Equal(others.Order(), others);
            Assert.Equal(others.Length, adjacency.Valence(v));
            foreach (int face in adjacency.VertexFaces(v))
            {
                Assert.Contains(v, adjacency.FaceVertices(face).ToArray());
            }
        }
    }

    [Theory]
    [MemberData(nameof(Meshes))]
    public void Borders_contain_each_edge_with_one_face_once(string name)
    {
        var adjacency = new MeshAdjacency(AwkwardMeshes.Build(name));
        var found = new List<int>();
        foreach (VertexPath border in adjacency.Borders())
        {
            for (int i = 0; i < border.EdgeCount; i++)
            {
                found.Add(adjacency.FindEdge(border.Vertices[i], border.Vertices[(i + 1) % border.Vertices.Count]));
            }
        }

        Assert.Equal(Enumerable.Range(0, adjacency.EdgeCount).Where(adjacency.IsBorderEdge), found.Order());
    }

    [Fact]
    public void Cube_sphere_satisfies_Eulers_formula()
    {
        PolygonMesh mesh = Shapes.CubeSphere(5);
        var adjacency = new MeshAdjacency(mesh);
        Assert.Equal(2, mesh.VertexCount - adjacency.EdgeCount + mesh.FaceCount);
        Assert.Equal(8, Enumerable.Range(0, mesh.VertexCount).Count(v => adjacency.Valence(v) == 3));
        Assert.Equal(mesh.VertexCount - 8, Enumerable.Range(0, mesh.VertexCount).Count(v => adjacency.Valence(v) == 4));
        Assert.Empty(adjacency.Borders());
        Assert.DoesNotContain(true, Enumerable.Range(0, adjacency.EdgeCount).Select(adjacency.IsWindingBroken));
        adjacency.FaceComponents(out int components);
        Assert.Equal(1, components);
    }

    [Theory]
    [InlineData("closed", 0, 1)]
    [InlineData("open-neck", 1, 1)]
    [InlineData("mask", 1, 1)]
    [InlineData("two-eyeballs", 0, 3)]
    [InlineData("duplicate-faces", 0, 2)]
    [InlineData("flat", 1, 1)]
    public void Borders_and_components_are_counted(string name, int borders, int components)
    {
        var adjacency = new MeshAdjacency(AwkwardMeshes.Build(name));
        Assert.Equal(borders, adjacency.Borders().Count);
        Assert.All(adjacency.Borders(), border => Assert.True(border.IsClosed));
        adjacency.VertexComponents(out int count);
        Assert.Equal(components, count);
    }

    [Fact]
    public void Fin_makes_one_non_manifold_edge_and_a_border_that_ends_there()
    {
        var adjacency = new MeshAdjacency(AwkwardMeshes.Build("non-manifold-edge"));
        Assert.Equal(1, Enumerable.Range(0, adjacency.EdgeCount).Count(adjacency.IsNonManifoldEdge));
        VertexPath border = Assert.Single(adjacency.Borders());
        Assert.False(border.IsClosed);
        Assert.Equal(3, border.Vertices.Count);
    }

    [Fact]
    public void Border_has_the_surface_on_its_left()
    {
        // The grid's faces are counter-clockwise seen from +z: so is its border.
        PolygonMesh mesh = Shapes.Grid(3, 2);
        VertexPath border = Assert.Single(new MeshAdjacency(mesh).Borders());
        Assert.Equal(10, border.EdgeCount);
        double area = 0;
        for (int i = 0; i < border.EdgeCount; i++)
        {
            Vector3d a = mesh.Positions[border.Vertices[i]], b = mesh.Positions[border.Vertices[(i + 1) % 10]];
            area += ((a.X * b.Y) - (a.Y * b.X)) / 2;
        }

        Assert.Equal(6, area);
    }

    [Fact]
    public void Borders_that_touch_in_a_vertex_stay_apart()
    {
        // Two squares that share a corner.
        var mesh = new PolygonMesh(
            [new(0, 0, 0), new(1, 0, 0), new(1, 1, 0), new(0, 1, 0), new(2, 1, 0), new(2, 2, 0), new(1, 2, 0)],
            [0, 4, 8],
            [0, 1, 2, 3, 2, 4, 5, 6]);
        IReadOnlyList<VertexPath> borders = new MeshAdjacency(mesh).Borders();
        Assert.Equal(2, borders.Count);
        Assert.All(borders, border => Assert.Equal(4, border.Vertices.Count));
    }

    [Fact]
    public void Turned_face_breaks_the_winding_of_its_edges()
    {
        var mesh = new TriangleMesh([new(0, 0, 0), new(1, 0, 0), new(1, 1, 0), new(0, 1, 0)], [0, 1, 2, 0, 3, 2]);
        var adjacency = new MeshAdjacency(mesh);
        Assert.True(adjacency.IsWindingBroken(adjacency.FindEdge(0, 2)));
        Assert.False(adjacency.IsWindingBroken(adjacency.FindEdge(0, 1)));
        Assert.True(Assert.Single(adjacency.Borders()).IsClosed);
    }
}
