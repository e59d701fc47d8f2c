using System.Numerics;
using AutoPlace.Geometry;
using AutoPlace.TemplateBuilder.Cast;
using AutoPlace.TemplateBuilder.Cast.Remeshing;
using AutoPlace.TemplateBuilder.Heads;
using Xunit;

namespace AutoPlace.Tests.TemplateBuilder;

public sealed class RemeshingTests
{
    [Theory]
    [InlineData(0.15)]
    [InlineData(0.4)]
    public void Sphere_gets_even_triangles_and_stays_a_closed_sphere(double edgeLength)
    {
        TriangleMesh sphere = Sphere(12);

        (Vector3d[] points, List<(string Part, int[] Corners)> triangles) = IsotropicRemesh.Run(sphere, Parts(sphere), _ => edgeLength);

        var mesh = new TriangleMesh([.. points.Select(p => (Vector3)p)], [.. triangles.SelectMany(t => t.Corners)]);
        var adjacency = new MeshAdjacency(mesh);
        Assert.Empty(adjacency.Borders());
        Assert.Equal(2, mesh.VertexCount - adjacency.EdgeCount + mesh.TriangleCount);

        // Splitting and contraction bound each edge by 4/3 and 4/5 of the length before the last turns and moves.
        double[] lengths = [.. adjacency.Edges.ToArray().Select(edge => (double)Vector3.Distance(mesh.Positions[edge.Low], mesh.Positions[edge.High]) / edgeLength)];
        Assert.InRange(lengths.Average(), 0.8, 1.25);
        Assert.InRange(lengths.Min(), 0.4, 1);
        Assert.InRange(lengths.Max(), 1, 1.8);
        Assert.All(points, p => Assert.InRange(p.Length, 0.97, 1.01));
    }

    [Fact]
    public void Line_between_parts_stays_on_its_circle()
    {
        TriangleMesh sphere = Sphere(12);
        string[] parts = [.. Enumerable.Range(0, sphere.TriangleCount).Select(t => sphere.Corners(t) is var (a, b, c) && a.Y + b.Y + c.Y > 0 ? "upper" : "lower")];

        (Vector3d[] points, List<(string Part, int[] Corners)> triangles) = IsotropicRemesh.Run(sphere, parts, _ => 0.3);

        int[] upper = [.. triangles.Where(t => t.Part == "upper").SelectMany(t => t.Corners).Distinct()];
        int[] shared = [.. triangles.Where(t => t.Part == "lower").SelectMany(t => t.Corners).Distinct().Intersect(upper)];
        Assert.True(shared.Length > 10);
        Assert.All(shared, v => Assert.Equal(0, points[v].Y, 1e-6));
    }

    [Fact]
    public void Surface_nets_of_a_ball_are_closed_quads_on_it()
    {
        var builder = new PolygonMeshBuilder();
        const double Radius = 1.0, Cell = 0.13;
        SurfaceNets.Add(builder, "ball", p => p.Length - Radius, new(-1.3, -1.3, -1.3), new(1.3, 1.3, 1.3), Cell);
        (PolygonMesh mesh, _) = builder.Build();
        var adjacency = new MeshAdjacency(mesh);

        Assert.Empty(adjacency.Borders());
        Assert.Equal(2, mesh.VertexCount - adjacency.EdgeCount + mesh.FaceCount);
        Assert.All(Enumerable.Range(0, mesh.FaceCount), f => Assert.Equal(4, mesh.Face(f).Length));

        // A vertex is a mean of points on the sphere within one cell: off it by no more than the cell's sagitta.
        double sagitta = Cell * Cell * 3 / (2 * Radius);
        Assert.All(mesh.Positions.ToArray(), p => Assert.InRange(p.Length(), Radius - sagitta, Radius + 1e-5));
        TriangleMesh triangles = mesh.Triangulate(out _);
        double volume = Enumerable.Range(0, triangles.TriangleCount).Sum(t => triangles.Corners(t) is var (a, b, c) ? Vector3.Dot(a, Vector3.Cross(b, c)) / 6.0 : 0);
        Assert.InRange(volume, 4 * Math.PI / 3 * 0.95, 4 * Math.PI / 3);
    }

    private static TriangleMesh Sphere(int cells)
    {
        var builder = new PolygonMeshBuilder();
        CubeSphere.Add(builder, cells, "sphere", direction => (direction, Coverage.Inside));
        return builder.Build().Mesh.Triangulate(out _);
    }

    private static string[] Parts(TriangleMesh mesh) => [.. Enumerable.Repeat("sphere", mesh.TriangleCount)];
}
