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
        (PolygonMesh shuffled, int[] vertices, int[] faces) = Shapes.Shuffled(template.Mesh, seed);
        PolygonMesh moved = shuffled.WithPositions([.. shuffled.Positions.ToArray().Select(p => (p * 2.5f) + new Vector3(1, -2, 3))]);

        MeshRenumbering found = MeshRenumbering.Find(template.Mesh, moved)!;

        Assert.Equal(vertices, found.Vertices);
        Assert.Equal(faces, found.Faces);
    }

    [Theory]
    [MemberData(nameof(Meshes))]
    public void Numbering_of_any_mesh_keeps_its_faces(string name)
    {
        PolygonMesh mesh = Shapes.Polygons(AwkwardMeshes.Build(name));
        (PolygonMesh shuffled, _, _) = Shapes.Shuffled(mesh, 7);

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

    private static int[] Turned(int[] corners)
    {
        int first = Array.IndexOf(corners, corners.Min());
        return [.. corners[first..], .. corners[..first]];
    }
}
