using System.Numerics;
using System.Security.Cryptography;
using AutoPlace.Geometry;
using AutoPlace.Import;
using CsCheck;
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

    [Theory]
    [MemberData(nameof(PolygonFormats))]
    public void Any_mesh_comes_back_bit_for_bit_as_authored(string format) => RandomMesh.Sample(
        mesh =>
        {
            (byte[] bytes, string name) = Written(format, mesh);
            TestMeshes.AssertSame(mesh, TestMeshes.Read(bytes, name, new MeshReadOptions { AsAuthored = true }).Mesh);
        },
        iter: 100);

    [Theory]
    [MemberData(nameof(PolygonFormats))]
    public void Faces_keep_their_corners_places_and_order_when_vertices_are_welded(string format) => RandomMesh.Sample(
        mesh =>
        {
            // Two copies of the vertices, so that there is something to weld; polygons of more than three corners keep it from pairing.
            PolygonMesh twice = TestMeshes.Mesh(
                [.. mesh.Positions, .. mesh.Positions],
                [.. FacesInDifferentPlaces(mesh).Select((face, i) => face.Select(v => v + (i % 2 * mesh.VertexCount)).ToArray())]);
            (byte[] bytes, string name) = Written(format, twice);
            HeadScan scan = TestMeshes.Read(bytes, name);

            Assert.Equal(twice.FaceStarts.ToArray(), scan.Mesh.FaceStarts.ToArray());
            for (int c = 0; c < twice.FaceVertices.Length; c++)
            {
                Assert.Equal(twice.Positions[twice.FaceVertices[c]], scan.Mesh.Positions[scan.Mesh.FaceVertices[c]]);
            }
        },
        iter: 100);

    /// <summary>Sheets that are to be seen from both sides are often written so; what is rendered of such a head is noise.</summary>
    [Theory]
    [MemberData(nameof(PolygonFormats))]
    public void Of_faces_that_lie_in_the_same_place_the_first_is_kept(string format) => RandomMesh.Sample(
        mesh =>
        {
            int[][] faces = FacesInDifferentPlaces(mesh);
            PolygonMesh once = TestMeshes.Mesh([.. mesh.Positions], [.. faces]);
            PolygonMesh doubled = TestMeshes.Mesh(
                [.. mesh.Positions, .. mesh.Positions],
                [.. faces, .. faces.Select(face => face.Reverse().Select(v => v + mesh.VertexCount).ToArray())]);
            (byte[] bytes, string name) = Written(format, doubled);
            (byte[] expectedBytes, _) = Written(format, once);
            (HeadScan scan, HeadScan expected) = (TestMeshes.Read(bytes, name), TestMeshes.Read(expectedBytes, name));

            TestMeshes.AssertSame(expected.Mesh, scan.Mesh);
            Assert.Equal((0, faces.Length), (expected.DoubledFaces, scan.DoubledFaces));
        },
        iter: 100);

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

    // No two with the same vertices; among them one of four, so that none is made of triangles alone.
    private static int[][] FacesInDifferentPlaces(PolygonMesh mesh) =>
        [.. Enumerable.Range(0, mesh.FaceCount).Select(f => mesh.Face(f).ToArray()).Prepend([0, 1, 2, 3])
            .DistinctBy(face => string.Join(' ', face.Order()))];

    /// <summary>Polygons of three to six different vertices; positions are any finite floats, all different.</summary>
    private static Gen<PolygonMesh> RandomMesh { get; } = Gen.Int[0, int.MaxValue].Select(seed =>
    {
        var random = new Random(seed);
        var positions = new HashSet<Vector3>();
        while (positions.Count < 6 + (seed % 40))
        {
            var p = new Vector3(AnyFloat(random), AnyFloat(random), AnyFloat(random));
            if (float.IsFinite(p.X + p.Y + p.Z))
            {
                positions.Add(p);
            }
        }

        int[] vertices = [.. Enumerable.Range(0, positions.Count)];
        var faces = new List<int[]>();
        for (int f = random.Next(1, 30); f > 0; f--)
        {
            random.Shuffle(vertices);
            faces.Add(vertices[..random.Next(3, 7)]);
        }

        return TestMeshes.Mesh([.. positions], faces);
    });

    private static float AnyFloat(Random random) => random.Next(3) == 0
        ? random.Next(-5, 5)
        : BitConverter.Int32BitsToSingle(random.Next(int.MinValue, int.MaxValue));

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
