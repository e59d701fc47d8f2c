using System.Numerics;
using System.Security.Cryptography;
using AutoPlace.Geometry;
using AutoPlace.Import;
using Xunit;

namespace AutoPlace.Tests.Import;

public sealed class MeshReaderTests
{
    private static readonly PolygonMesh Sphere = TestMeshes.Sphere(7, 9);

    public static TheoryData<string> PolygonFormats => ["obj", "off", "ply text", "ply little", "ply big"];

    [Theory]
    [MemberData(nameof(PolygonFormats))]
    public void Polygons_come_back_as_written(string format)
    {
        (byte[] bytes, string name) = Written(format, Sphere);
        HeadScan scan = TestMeshes.Read(bytes, name);

        TestMeshes.AssertSame(Sphere, scan.Mesh);
        Assert.Equal(Convert.ToHexStringLower(SHA256.HashData(bytes)), scan.Sha256);
        Assert.Equal(name, scan.Source);
        Assert.Null(scan.MetresPerUnit);
        Assert.Equal(0, scan.DroppedFaces);
        Assert.Single(scan.Parts);
        Assert.Equal(new int[Sphere.FaceCount], scan.FaceParts);
    }

    [Theory]
    [InlineData(true)]
    [InlineData(false)]
    public void Stl_triangles_come_back_welded(bool binary)
    {
        TriangleMesh triangles = Sphere.Triangulate(out _);
        byte[] bytes = binary ? MeshText.StlBinary(triangles, "solid in name only") : MeshText.StlText(triangles);
        HeadScan scan = TestMeshes.Read(bytes, "ball.stl");

        Assert.Equal(MeshFormat.Stl, scan.Format);
        Assert.Equal(Sphere.VertexCount, scan.Mesh.VertexCount);
        Assert.Equal(triangles.TriangleCount, scan.Mesh.Triangulate(out _).TriangleCount);
    }

    [Theory]
    [MemberData(nameof(PolygonFormats))]
    public void Content_counts_not_the_name(string format)
    {
        (byte[] bytes, _) = Written(format, Sphere);

        TestMeshes.AssertSame(Sphere, TestMeshes.Read(bytes, "head.dat").Mesh);
        TestMeshes.AssertSame(Sphere, TestMeshes.Read(bytes, "head.glb").Mesh);
    }

    [Fact]
    public void Glb_quad_comes_back_from_two_triangles()
    {
        var file = new GlbFile();
        int mesh = file.Mesh([Vector3.Zero, Vector3.UnitX, new(1, 1, 0), Vector3.UnitY], [0, 1, 2, 0, 2, 3]);
        file.Node(new() { ["mesh"] = mesh, ["name"] = "Plate" });
        HeadScan scan = TestMeshes.Read(file.ToBytes(), "plate.glb");

        Assert.Equal(MeshFormat.Gltf, scan.Format);
        Assert.Equal(1, scan.MetresPerUnit);
        Assert.Equal(new MeshPart("Plate", null), Assert.Single(scan.Parts));
        Assert.Equal([0, 1, 2, 3], scan.Mesh.Face(0).ToArray());
        Assert.Equal(1, scan.Mesh.FaceCount);
    }

    private static (byte[] Bytes, string Name) Written(string format, PolygonMesh mesh) => format switch
    {
        "obj" => (MeshText.Obj(mesh), "head.obj"),
        "off" => (MeshText.Off(mesh), "head.off"),
        "ply text" => (MeshText.PlyText(mesh), "head.ply"),
        "ply little" => (MeshText.PlyBinary(mesh, bigEndian: false), "head.ply"),
        "ply big" => (MeshText.PlyBinary(mesh, bigEndian: true), "head.ply"),
        _ => throw new ArgumentOutOfRangeException(nameof(format), format, null),
    };
}
