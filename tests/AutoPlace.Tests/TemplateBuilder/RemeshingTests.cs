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
    public void Joined_pairs_cover_the_same_sphere_mostly_with_quads()
    {
        (Vector3d[] points, List<(string Part, int[] Corners)> triangles) = IsotropicRemesh.Run(Sphere(12), Parts(Sphere(12)), _ => 0.2);

        PolygonMesh mesh = Mesh(points, QuadPairs.Join(points, triangles));

        var adjacency = new MeshAdjacency(mesh);
        Assert.Empty(adjacency.Borders());
        Assert.Equal(2, mesh.VertexCount - adjacency.EdgeCount + mesh.FaceCount);
        Assert.Equal(points.Length, mesh.VertexCount);
        int quads = Enumerable.Range(0, mesh.FaceCount).Count(f => mesh.Face(f).Length == 4);
        Assert.True(2 * quads > 0.8 * triangles.Count, $"{2 * quads} of {triangles.Count} triangles have a partner");
        Assert.Equal(Volume(Mesh(points, triangles)), Volume(mesh), 0.01);
    }

    [Fact]
    public void Dual_of_a_sphere_exchanges_vertices_and_faces()
    {
        (Vector3d[] points, List<(string Part, int[] Corners)> triangles) = IsotropicRemesh.Run(Sphere(12), Parts(Sphere(12)), _ => 0.2);

        (Vector3d[] dualPoints, List<(string Part, int[] Corners)> polygons) = DualPolygons.Of(points, triangles, (p, _) => p.Normalized());

        PolygonMesh mesh = Mesh(dualPoints, polygons);
        Assert.Equal(triangles.Count, mesh.VertexCount);
        Assert.Equal(points.Length, mesh.FaceCount);
        var adjacency = new MeshAdjacency(mesh);
        Assert.Empty(adjacency.Borders());
        Assert.Equal(2, mesh.VertexCount - adjacency.EdgeCount + mesh.FaceCount);
        Assert.InRange(Volume(mesh), 4 * Math.PI / 3 * 0.97, 4 * Math.PI / 3);
    }

    [Fact]
    public void Dual_keeps_a_border_where_it_was()
    {
        TriangleMesh sphere = Sphere(8);
        int[] upper = [.. Enumerable.Range(0, sphere.TriangleCount).Where(t => sphere.Corners(t) is var (a, b, c) && a.Y + b.Y + c.Y > 0)];
        Vector3d[] points = [.. sphere.Positions.ToArray().Select(p => (Vector3d)p)];
        var triangles = upper.Select(t => ("upper", sphere.Indices.Slice(3 * t, 3).ToArray())).ToList();

        (Vector3d[] dualPoints, List<(string Part, int[] Corners)> polygons) = DualPolygons.Of(points, triangles, (p, _) => p);

        var border = new MeshAdjacency(Mesh(dualPoints, polygons)).Borders();
        Assert.Single(border);
        Assert.All(border[0].Vertices, v => Assert.Equal(0, dualPoints[v].Y, 1e-6));
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
        Assert.InRange(Volume(mesh), 4 * Math.PI / 3 * 0.95, 4 * Math.PI / 3);
    }

    private static TriangleMesh Sphere(int cells)
    {
        var builder = new PolygonMeshBuilder();
        CubeSphere.Add(builder, cells, "sphere", direction => direction);
        return builder.Build().Mesh.Triangulate(out _);
    }

    private static PolygonMesh Mesh(Vector3d[] points, List<(string Part, int[] Corners)> faces)
    {
        int[] starts = new int[faces.Count + 1];
        for (int f = 0; f < faces.Count; f++)
        {
            starts[f + 1] = starts[f] + faces[f].Corners.Length;
        }

        return new PolygonMesh([.. points.Select(p => (Vector3)p)], starts, [.. faces.SelectMany(face => face.Corners)]);
    }

    private static double Volume(PolygonMesh mesh)
    {
        TriangleMesh triangles = mesh.Triangulate(out _);
        return Enumerable.Range(0, triangles.TriangleCount).Sum(t => triangles.Corners(t) is var (a, b, c) ? Vector3.Dot(a, Vector3.Cross(b, c)) / 6.0 : 0);
    }

    private static string[] Parts(TriangleMesh mesh) => [.. Enumerable.Repeat("sphere", mesh.TriangleCount)];
}
