using System.Numerics;
using AutoPlace.Export;
using AutoPlace.Import;
using AutoPlace.Tests.Demo;
using SharpGLTF.Schema2;
using Xunit;

namespace AutoPlace.Tests.Export;

public sealed class GltfScanWriterTests
{
    private static readonly HeadScan Scan = MeshReader.Read(DemoFolder.Truths["maren"].MeshPath);

    [Fact]
    public void Validator_of_the_format_finds_no_errors() => Assert.Empty(GltfValidator.AssertNoErrors(Write()));

    [Fact]
    public void Each_part_is_a_node_without_transform_with_its_vertices_in_file_coordinates()
    {
        ModelRoot model = Read();
        Assert.Equal(Scan.Parts.Select(p => p.Name), model.LogicalNodes.Select(n => n.Name));
        Assert.All(model.LogicalNodes, node => Assert.Equal(Matrix4x4.Identity, node.WorldMatrix));
        HashSet<Vector3> known = [.. Scan.Mesh.Positions.ToArray()];
        Assert.All(model.LogicalMeshes, mesh => Assert.All(mesh.Primitives, p => Assert.All(
            p.GetVertexAccessor("POSITION").AsVector3Array(), position => Assert.Contains(position, known))));
    }

    [Fact]
    public void Lines_are_the_edges_of_the_polygons_and_no_diagonal()
    {
        int lines = Read().LogicalMeshes.SelectMany(m => m.Primitives).Where(p => p.DrawPrimitiveType == PrimitiveType.LINES).Sum(p => p.GetLineIndices().Count());

        // Parts share no vertices here, so that no edge counts twice.
        Assert.Equal(PictureContent.ModelledEdges(Scan.Mesh).Count, lines);
        int triangles = Read().LogicalMeshes.SelectMany(m => m.Primitives).Where(p => p.DrawPrimitiveType == PrimitiveType.TRIANGLES).Sum(p => p.GetTriangleIndices().Count());
        Assert.Equal(Scan.Mesh.FaceVertices.Length - (2 * Scan.Mesh.FaceCount), triangles);
    }

    private static byte[] Write()
    {
        using var file = new MemoryStream();
        GltfScanWriter.Write(Scan, file);
        return file.ToArray();
    }

    private static ModelRoot Read()
    {
        using var file = new MemoryStream(Write());
        return ModelRoot.ReadGLB(file);
    }
}
