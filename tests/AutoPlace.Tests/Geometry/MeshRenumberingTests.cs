using System.Numerics;
using AutoPlace.Geometry;
using AutoPlace.Template;
using AutoPlace.Tests.Heads;
using Xunit;

namespace AutoPlace.Tests.Geometry;

public sealed class MeshRenumberingTests
{
    public static IEnumerable<TheoryDataRow<string>> Meshes => AwkwardMeshes.Names;

    /// <summary>Skin, teeth, balls: several pieces, some of which fit onto themselves in many ways.</summary>
    [Theory]
    [InlineData(1)]
    [InlineData(2)]
    public void Template_head_in_another_order_is_found_vertex_for_vertex(int seed)
    {
        TemplateHead template = BuiltInTemplate.Load();
        (PolygonMesh shuffled, int[] vertices, int[] faces) = Shuffled(template.Mesh, seed, p => (p * 2.5f) + new Vector3(1, -2, 3));

        MeshRenumbering found = MeshRenumbering.Find(template.Mesh, shuffled)!;

        Assert.Equal(vertices, found.Vertices);
        Assert.Equal(faces, found.Faces);
    }

    [Theory]
    [MemberData(nameof(Meshes))]
    public void Numbering_of_any_mesh_keeps_its_faces(string name)
    {
        TriangleMesh triangles = AwkwardMeshes.Build(name);
        var mesh = new PolygonMesh(triangles.Positions.ToArray(), [.. Enumerable.Range(0, triangles.TriangleCount + 1).Select(t => 3 * t)], triangles.Indices.ToArray());
        (PolygonMesh shuffled, _, _) = Shuffled(mesh, 7, p => p);

        // A vertex without a face can't be told from another.
        if (MeshRenumbering.Find(mesh, shuffled) is { } found)
        {
            for (int f = 0; f < mesh.FaceCount; f++)
            {
                int[] carried = [.. mesh.Face(f).ToArray().Select(v => found.Vertices[v])];
                Assert.Equal(Turned(shuffled.Face(found.Faces[f]).ToArray()), Turned(carried));
            }
        }
        else
        {
            Assert.True(mesh.FaceVertices.ToArray().Distinct().Count() < mesh.VertexCount || mesh.FaceCount == 0, name);
        }
    }

    [Fact]
    public void Mesh_with_one_edge_turned_is_another()
    {
        PolygonMesh sphere = Shapes.CubeSphere(5);
        int[] corners = sphere.FaceVertices.ToArray();
        (corners[0], corners[1]) = (corners[1], corners[0]);

        Assert.Null(MeshRenumbering.Find(sphere, new PolygonMesh(sphere.Positions.ToArray(), sphere.FaceStarts.ToArray(), corners)));
    }

    [Fact]
    public void Mesh_wound_the_other_way_is_another()
    {
        PolygonMesh mesh = BuiltInTemplate.Load().Mesh;
        int[] corners = [.. Enumerable.Range(0, mesh.FaceCount).SelectMany(f => mesh.Face(f).ToArray().Reverse())];

        Assert.Null(MeshRenumbering.Find(mesh, new PolygonMesh(mesh.Positions.ToArray(), mesh.FaceStarts.ToArray(), corners)));
    }

    private static (PolygonMesh Mesh, int[] Vertices, int[] Faces) Shuffled(PolygonMesh mesh, int seed, Func<Vector3, Vector3> map)
    {
        var random = new Random(seed);
        int[] vertices = [.. Enumerable.Range(0, mesh.VertexCount)], faces = [.. Enumerable.Range(0, mesh.FaceCount)];
        random.Shuffle(vertices);
        random.Shuffle(faces);
        var positions = new Vector3[vertices.Length];
        int[][] shuffled = new int[faces.Length][];
        for (int v = 0; v < vertices.Length; v++)
        {
            positions[vertices[v]] = map(mesh.Positions[v]);
        }

        for (int f = 0; f < faces.Length; f++)
        {
            int[] corners = [.. mesh.Face(f).ToArray().Select(v => vertices[v])];
            int first = random.Next(corners.Length);
            shuffled[faces[f]] = [.. corners[first..], .. corners[..first]];
        }

        int[] starts = new int[faces.Length + 1];
        for (int f = 0; f < faces.Length; f++)
        {
            starts[f + 1] = starts[f] + shuffled[f].Length;
        }

        return (new PolygonMesh(positions, starts, [.. shuffled.SelectMany(face => face)]), vertices, faces);
    }

    private static int[] Turned(int[] corners)
    {
        int first = Array.IndexOf(corners, corners.Min());
        return [.. corners[first..], .. corners[..first]];
    }
}
