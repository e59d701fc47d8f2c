using System.Buffers.Binary;
using System.Numerics;
using System.Text;
using System.Text.Json.Nodes;
using AutoPlace.Geometry;
using AutoPlace.Tests.Import;

namespace AutoPlace.Tests.Cli;

/// <summary>A file that can't be read as a head.</summary>
/// <param name="Name">Name of the file, below the folder of the test.</param>
/// <param name="Bytes">Its contents.</param>
/// <param name="Said">What the message names besides the file: the element and the reason.</param>
internal sealed record HardFile(string Name, byte[] Bytes, string Said);

/// <summary>Files of every format that have something wrong, and files of other formats.</summary>
internal static class HardFiles
{
    private const string Export = "can't be read; export glTF (.glb) instead";

    private static readonly PolygonMesh Ball = TestMeshes.Sphere(4, 5);

    /// <summary>All of them.</summary>
    internal static IEnumerable<HardFile> All =>
        [.. Empty, .. Truncated, .. Mistaken, .. NotFinite, .. OutOfRange, .. WithoutFaces, .. Boastful, .. BrokenGltf, .. Foreign, .. Named];

    private static IEnumerable<HardFile> Empty =>
        ((string[])["glb", "gltf", "obj", "ply", "stl", "off", "fbx", ""]).Select(e => Text($"empty.{e}".TrimEnd('.'), "", "the file is empty"));

    private static IEnumerable<HardFile> Truncated =>
    [
        Cut("cut.glb", Gltf().ToBytes(), 0.5, "header: "),
        Cut("cut.gltf", GltfText(), 0.5, "not valid JSON"),
        Cut("cut.obj", MeshText.Obj(Ball), 0.2, "no faces"),
        Cut("cut.ply", MeshText.PlyText(Ball), 0.5, "the file ends within it"),
        Cut("cut.little.ply", MeshText.PlyBinary(Ball, bigEndian: false), 0.5, "rows don't fit the"),
        Cut("cut.big.ply", MeshText.PlyBinary(Ball, bigEndian: true), 0.5, "rows don't fit the"),
        Cut("cut.stl", MeshText.StlBinary(Ball.Triangulate(out _)), 0.5, "triangles claimed, the file holds"),
        Cut("cut.text.stl", MeshText.StlText(Ball.Triangulate(out _)), 0.5, "the file ends within a solid"),
        Cut("cut.off", MeshText.Off(Ball), 0.5, "line "),
        Cut("header.ply", MeshText.PlyText(Ball), 0.1, "header"),
        Cut("header.glb", Gltf().ToBytes(), 0.01, "the file ends after"),
    ];

    private static IEnumerable<HardFile> Mistaken =>
    [
        Changed("magic.glb", Gltf().ToBytes(), 0, 0x58545458, "the file doesn't begin with 'glTF'"),
        Changed("magic.ply", MeshText.PlyText(Ball), 0, 0x58545458, "the file doesn't begin with 'ply'"),
        Changed("version.glb", Gltf().ToBytes(), 4, 3, "glTF version 3"),
        Text("text.glb", "no binary file at all", "the file doesn't begin with 'glTF'"),
        Text("text.stl", "no triangles at all", "header: "),
        Text("text.gltf", "<not JSON>", "XML"),
        Text("other.gltf", "{\"version\": 2}", "no property 'asset'"),
        Binary("binary.obj", "binary content where text should be"),
        Binary("binary.off", "binary content where text should be"),
        Binary("binary.gltf", "the file isn't JSON"),
        Binary("unknown.dat", "not a glTF, OBJ, PLY, STL or OFF file"),
    ];

    private static IEnumerable<HardFile> NotFinite =>
    [
        Text("nan.obj", "v 0 0 0\nv 1 0 0\nv nan 1 0\nf 1 2 3\n", "line 3: 'nan' is not a finite number"),
        Text("infinity.obj", "v 0 0 0\nv 1e999 0 0\nv 0 1 0\nf 1 2 3\n", "line 2: '1e999' is not a finite number"),
        Text("nan.off", "OFF\n3 1 0\n0 0 0\n1 nan 0\n0 1 0\n3 0 1 2\n", "line 4: 'nan' is not a finite number"),
        Text("nan.text.stl", "solid x\nfacet normal 0 0 1\nouter loop\nvertex 0 0 0\nvertex 1 inf 0\n", "line 5: 'inf' is not a finite number"),
        Text("nan.ply", PlyHeader("ascii", 3, 1) + "0 0 0\n1 0 0\nnan 1 0\n3 0 1 2\n", "vertex 2"),
        Bytes("nan.little.ply", PlyHeader("binary_little_endian", 3, 1), [.. Floats(0, 0, 0, 1, 0, 0, 0, float.NaN, 0), .. new byte[13]], "vertex 2"),
        Bytes("infinity.stl", "", Stl(1, 0, 0, 0, 1, 0, 0, float.PositiveInfinity, 0, 0), "triangle 0"),
        Gltf("nan.glb", new Vector3(float.NaN, 0, 0), 2, "vertex 2: position"),
        Gltf("infinity.glb", new Vector3(0, float.NegativeInfinity, 0), 2, "vertex 2: position"),
    ];

    private static IEnumerable<HardFile> OutOfRange =>
    [
        Text("range.obj", "v 0 0 0\nv 1 0 0\nv 0 1 0\nf 1 2 7\n", "line 4: vertex 7 of 3 vertices"),
        Text("zero.obj", "v 0 0 0\nv 1 0 0\nv 0 1 0\nf 0 1 2\n", "line 4: vertex 0 of 3 vertices"),
        Text("negative.obj", "v 0 0 0\nv 1 0 0\nv 0 1 0\nf -4 -1 -2\n", "line 4: vertex -4 of 3 vertices"),
        Text("range.off", "OFF\n3 1 0\n0 0 0\n1 0 0\n0 1 0\n3 0 1 3\n", "line 6: vertex 3 of 3 vertices"),
        Text("range.ply", PlyHeader("ascii", 3, 1) + "0 0 0\n1 0 0\n0 1 0\n3 0 1 -1\n", "vertex -1 of 3 vertices"),
        Gltf("range.glb", Vector3.UnitY, 3, "index 3 of 3 vertices"),
    ];

    private static IEnumerable<HardFile> WithoutFaces =>
    [
        Text("points.obj", "v 0 0 0\nv 1 0 0\nv 0 1 0\n", "no faces"),
        Text("points.off", "OFF\n3 0 0\n0 0 0\n1 0 0\n0 1 0\n", "no faces"),
        Text("points.ply", PlyHeader("ascii", 3, 0) + "0 0 0\n1 0 0\n0 1 0\n", "no faces"),
        Bytes("none.stl", "", Stl(0), "no faces"),
        Text("none.text.stl", "solid x\nendsolid x\n", "no faces"),
        Text("scene.gltf", "{\"asset\": {\"version\": \"2.0\"}}", "no faces"),
        Text("lines.obj", "v 0 0 0\nv 1 0 0\nl 1 2\n", "no faces"),

        // All of a head's vertices in one place: nothing has an area.
        Text("spot.obj", "v 1 1 1\nv 1 1 1\nv 1 1 1\nf 1 2 3\n", "no faces but 1 degenerate ones"),
        Bytes("spot.stl", "", Stl(1, 1, 1, 1, 1, 1, 1, 1, 1, 1), "no faces but 1 degenerate ones"),
        Gltf("spot.glb", default, 2, "no faces but 1 degenerate ones", (_, file) => file.Json["nodes"]![0]!["scale"] = new JsonArray(0, 0, 0)),
    ];

    /// <summary>Ten million promised in about a kilobyte.</summary>
    private static IEnumerable<HardFile> Boastful =>
    [
        Text("million.ply", PlyHeader("ascii", 10_000_000, 1) + new string('\n', 1000), "10000000 rows don't fit the"),
        Bytes("million.little.ply", PlyHeader("binary_little_endian", 10_000_000, 1), new byte[1000], "10000000 rows don't fit the"),
        Text("faces.ply", PlyHeader("ascii", 3, 10_000_000) + new string('\n', 1000), "10000000 rows don't fit the"),
        Text("million.off", "OFF\n10000000 1 0\n" + new string('\n', 1000), "10000000 vertices and 1 faces don't fit the"),
        Changed("million.stl", [.. new byte[84], .. new byte[1000]], 80, 10_000_000, "10000000 triangles claimed, the file holds 20"),
        Gltf("million.glb", Vector3.UnitY, 2, "10000000 items", (_, file) => file.Json["accessors"]![0]!["count"] = 10_000_000),
        Gltf("buffer.glb", Vector3.UnitY, 2, "buffer 0: 10000000 bytes claimed", (_, file) =>
            file.Json["buffers"] = new JsonArray(new JsonObject { ["byteLength"] = 10_000_000 })),
    ];

    private static IEnumerable<HardFile> BrokenGltf =>
    [
        Gltf("circle.glb", Vector3.UnitY, 2, "is its own ancestor", (_, file) => file.Json["nodes"]![0]!["children"] = new JsonArray(0)),
        Gltf("child.glb", Vector3.UnitY, 2, "child 7 of 1 nodes", (_, file) => file.Json["nodes"]![0]!["children"] = new JsonArray(7)),
        Gltf("missing.gltf", Vector3.UnitY, 2, "buffer 0: 'nowhere.bin'", External("nowhere.bin")),
        Gltf("outside.gltf", Vector3.UnitY, 2, "buffer 0: '../head.bin' is not a file below the folder", External("../head.bin")),
        Gltf("absolute.gltf", Vector3.UnitY, 2, "is not a file below the folder", External("/dev/zero")),
        Gltf("address.gltf", Vector3.UnitY, 2, "is not a file below the folder", External("http://localhost/head.bin")),
        Gltf("draco.glb", Vector3.UnitY, 2, "KHR_draco_mesh_compression can't be read; export without mesh compression", (_, file) =>
            file.Json["extensionsRequired"] = new JsonArray("KHR_draco_mesh_compression")),
        Gltf("meshopt.glb", Vector3.UnitY, 2, "EXT_meshopt_compression can't be read; export without mesh compression", (_, file) =>
            file.Json["extensionsRequired"] = new JsonArray("EXT_meshopt_compression")),
    ];

    private static IEnumerable<HardFile> Foreign =>
    [
        .. Other("FBX (binary)", "Kaydara FBX Binary  \0\u001A\0", "fbx"),
        .. Other("FBX (text)", "; FBX 7.7.0 project file\n", "text.fbx"),
        .. Other("USDA", "#usda 1.0\n(\n)\n", "usda"),
        .. Other("USDC", "PXR-USDC\0\0\0\0", "usdc"),
        Text("foreign.usdz", "PK\u0003\u0004\u000A\0\0\0", $"USDZ {Export}"),
        .. Other("DAE (COLLADA)", "<?xml version=\"1.0\"?>\n<COLLADA version=\"1.4.1\"></COLLADA>", "dae"),
        .. Other("BLEND", "BLENDER-v405", "blend"),
        .. Other("ABC (Alembic)", "Ogawa\u00FF\0\0\u0001", "abc"),
        .. Other("X3D", "<X3D profile='Interchange'></X3D>", "x3d"),
        .. Other("VRML", "#VRML V2.0 utf8\n", "wrl"),
        .. Other("STEP", "ISO-10303-21;\nHEADER;\n", "step"),
        .. Other("ZIP", "PK\u0003\u0004\u000A\0\0\0", "zip"),
        .. Other("PNG", "\u0089PNG\r\n\u001A\n", "png"),
        .. Other("PDF", "%PDF-1.7\n", "pdf"),
    ];

    /// <summary>Broken files whose names are awkward.</summary>
    private static IEnumerable<HardFile> Named =>
    [
        Text("a head.obj", "v 0 0\n", "line 1: vertex with 2 coordinates"),
        Text("Kopf für Mädchen 頭 😀.obj", "v 0 0\n", "line 1: vertex with 2 coordinates"),
        Text("sub folder/../a.b..off", "OFF\nx\n", "line 2: 'x' is not a number of vertices"),
        Text("UPPER.STL", "x", "header: "),
        Text("no-extension", "x", "not a glTF, OBJ, PLY, STL or OFF file"),
    ];

    /// <summary>A triangle from the origin along x to a third vertex.</summary>
    internal static GlbFile Triangle(Vector3 third, uint lastIndex)
    {
        var file = new GlbFile();
        file.Node(new() { ["mesh"] = file.Mesh([default, Vector3.UnitX, third], [0, 1, lastIndex]) });
        return file;
    }

    private static GlbFile Gltf() => Triangle(Vector3.UnitY, 2);

    private static byte[] GltfText() => Encoding.UTF8.GetBytes(Gltf().Json.ToJsonString());

    private static HardFile Gltf(string name, Vector3 third, uint lastIndex, string said, Action<string, GlbFile>? change = null)
    {
        GlbFile file = Triangle(third, lastIndex);
        change?.Invoke(name, file);
        bool text = Path.GetExtension(name) == ".gltf";
        return new(name, text ? Encoding.UTF8.GetBytes(file.Json.ToJsonString()) : file.ToBytes(), said);
    }

    private static Action<string, GlbFile> External(string address) => (_, file) =>
        file.Json["buffers"] = new JsonArray(new JsonObject { ["uri"] = address, ["byteLength"] = file.Buffer.Length });

    private static HardFile Text(string name, string text, string said) => Bytes(name, "", IsLatin(text) ? Encoding.Latin1.GetBytes(text) : Encoding.UTF8.GetBytes(text), said);

    private static bool IsLatin(string text) => text.All(c => c < 256);

    private static HardFile Bytes(string name, string start, byte[] bytes, string said) => new(name, [.. Encoding.ASCII.GetBytes(start), .. bytes], said);

    private static HardFile Binary(string name, string said) => Text(name, "\u007FELF\0\0\0\u0001\0\0", said);

    private static HardFile Cut(string name, byte[] good, double share, string said) => new(name, good[..(int)(share * good.Length)], said);

    private static HardFile Changed(string name, byte[] good, int offset, uint value, string said)
    {
        byte[] bytes = [.. good];
        BinaryPrimitives.WriteUInt32LittleEndian(bytes.AsSpan(offset), value);
        return new(name, bytes, said);
    }

    // Under its own name and under that of a format that is read.
    private static HardFile[] Other(string format, string content, string extension) =>
    [
        Text($"foreign.{extension}", content, $"{format} {Export}"),
        Text($"foreign {extension}.obj", content, $"{format} {Export}"),
    ];

    private static string PlyHeader(string encoding, int vertices, int faces) =>
        $"ply\nformat {encoding} 1.0\nelement vertex {vertices}\nproperty float x\nproperty float y\nproperty float z\n"
        + $"element face {faces}\nproperty list uchar int vertex_indices\nend_header\n";

    private static byte[] Stl(int triangles, params float[] corners)
    {
        byte[] bytes = new byte[84 + (50 * triangles)];
        BinaryPrimitives.WriteInt32LittleEndian(bytes.AsSpan(80), triangles);
        Floats(corners).CopyTo(bytes, triangles == 0 ? 84 : 96);
        return bytes;
    }

    private static byte[] Floats(params float[] numbers)
    {
        byte[] bytes = new byte[4 * numbers.Length];
        for (int i = 0; i < numbers.Length; i++)
        {
            BinaryPrimitives.WriteSingleLittleEndian(bytes.AsSpan(4 * i), numbers[i]);
        }

        return bytes;
    }
}
