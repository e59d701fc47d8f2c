using System.Buffers.Binary;
using System.Numerics;
using System.Text;
using System.Text.Json.Nodes;
using AutoPlace.Import;
using Xunit;

namespace AutoPlace.Tests.Import;

public sealed class GltfDocumentTests : IDisposable
{
    private readonly DirectoryInfo _folder = Directory.CreateTempSubdirectory("autoplace-import-");

    public void Dispose() => _folder.Delete(recursive: true);

    [Theory]
    [InlineData("head.bin", "head.bin")]
    [InlineData("a%20head.bin", "a head.bin")]
    [InlineData("a head.bin", "a head.bin")]
    [InlineData("buffers/k%C3%B6pfe/head.bin", "buffers/köpfe/head.bin")]
    [InlineData("./head.bin", "head.bin")]
    public void Buffers_below_the_folder_are_read(string address, string path)
    {
        GlbFile file = External(address);
        string target = Path.Combine(_folder.FullName, path);
        Directory.CreateDirectory(Path.GetDirectoryName(target)!);
        File.WriteAllBytes(target, file.Buffer);

        Assert.Equal(3, MeshReader.Read(Written(file)).Mesh.VertexCount);
    }

    [Theory]
    [InlineData("../head.bin")]
    [InlineData("sub/../../head.bin")]
    [InlineData("%2e%2e/head.bin")]
    [InlineData("..%2fhead.bin")]
    [InlineData("..\\head.bin")]
    [InlineData("/etc/hostname")]
    [InlineData("//server/share/head.bin")]
    [InlineData("C:\\head.bin")]
    [InlineData("file:///etc/hostname")]
    [InlineData("http://localhost/head.bin")]
    [InlineData("head.bin%00")]
    [InlineData("")]
    public void Buffers_elsewhere_are_refused_without_being_opened(string address)
    {
        GlbFile file = External(address);
        var options = new MeshReadOptions { OpenBeside = path => throw new InvalidOperationException(path) };
        var fault = Assert.Throws<MeshFormatException>(() => TestMeshes.Read(Text(file), "head.gltf", options));

        Assert.Equal("buffer 0", fault.Element);
        Assert.Equal($"'{address}' is not a file below the folder of this one", fault.Reason);
    }

    [Fact]
    public void Missing_buffers_are_named()
    {
        string path = Written(External("missing.bin"));
        var fault = Assert.Throws<MeshFormatException>(() => MeshReader.Read(path));
        Assert.Equal("buffer 0", fault.Element);
        Assert.StartsWith("'missing.bin': ", fault.Reason, StringComparison.Ordinal);

        var alone = Assert.Throws<MeshFormatException>(() => TestMeshes.Read(Text(External("head.bin")), "head.gltf"));
        Assert.Equal("'head.bin' is a file of its own; use a .glb file, which holds everything", alone.Reason);
    }

    [Theory]
    [InlineData("data:application/octet-stream;base64,")]
    [InlineData("data:application/gltf-buffer;base64,")]
    [InlineData("data:;base64,")]
    public void Embedded_buffers_are_read(string start)
    {
        GlbFile file = External("");
        file.Json["buffers"]![0]!["uri"] = start + Convert.ToBase64String(file.Buffer);

        Assert.Equal(3, TestMeshes.Read(Text(file), "head.gltf").Mesh.VertexCount);
    }

    [Theory]
    [InlineData("data:application/octet-stream;base64,****", "data URI that isn't valid base64")]
    [InlineData("data:text/plain,abc", "data URI that isn't base64")]
    [InlineData("data:;base64,AAAA", "48 bytes claimed, 3 there")]
    public void Faulty_embedded_buffers_are_named(string uri, string reason)
    {
        var fault = Assert.Throws<MeshFormatException>(() => TestMeshes.Read(Text(External(uri)), "head.gltf"));

        Assert.Equal("buffer 0", fault.Element);
        Assert.Equal(reason, fault.Reason);
    }

    [Theory]
    [InlineData("KHR_draco_mesh_compression", "KHR_draco_mesh_compression can't be read; export without mesh compression")]
    [InlineData("EXT_meshopt_compression", "EXT_meshopt_compression can't be read; export without mesh compression")]
    [InlineData("KHR_something_new", "KHR_something_new can't be read")]
    [InlineData("KHR_materials_unlit", null)]
    [InlineData("KHR_texture_transform", null)]
    public void Required_extensions_that_touch_geometry_are_refused_by_name(string name, string? reason)
    {
        GlbFile file = Plain();
        file.Json["extensionsRequired"] = new JsonArray(name);
        if (reason is null)
        {
            Assert.Equal(1, Read(file).Mesh.FaceCount);
            return;
        }

        var fault = Assert.Throws<MeshFormatException>(() => Read(file));
        Assert.Equal("extensionsRequired", fault.Element);
        Assert.Equal(reason, fault.Reason);
    }

    [Fact]
    public void Meshes_that_are_there_in_compressed_form_only_are_refused_by_name()
    {
        GlbFile draco = Plain();
        draco.Json["extensionsUsed"] = new JsonArray("KHR_draco_mesh_compression");
        draco.Json["meshes"]![0]!["primitives"]![0]!["extensions"] = new JsonObject
        {
            ["KHR_draco_mesh_compression"] = new JsonObject { ["bufferView"] = 1, ["attributes"] = new JsonObject { ["POSITION"] = 0 } },
        };
        Assert.Equal(1, Read(draco).Mesh.FaceCount);
        draco.Json["accessors"]![0]!.AsObject().Remove("bufferView");
        AssertFault(draco, "mesh 0: primitive 0", "KHR_draco_mesh_compression can't be read; export without mesh compression");

        GlbFile meshopt = Plain();
        meshopt.Json["buffers"] = new JsonArray(
            new JsonObject { ["byteLength"] = meshopt.Buffer.Length },
            new JsonObject
            {
                ["byteLength"] = 36,
                ["extensions"] = new JsonObject { ["EXT_meshopt_compression"] = new JsonObject { ["fallback"] = true } },
            });
        AssertFault(meshopt, "buffer 1", "EXT_meshopt_compression can't be read; export without mesh compression");
    }

    [Fact]
    public void Nodes_ten_thousand_deep_are_read()
    {
        const int Depth = 10_000;
        GlbFile file = Plain();
        file.Json["nodes"]![0]!["translation"] = new JsonArray(0, 0, 1);
        for (int n = 1; n < Depth; n++)
        {
            file.Node(new() { ["children"] = new JsonArray(n - 1), ["translation"] = new JsonArray(0, 0, 1) }, root: false);
        }

        file.Json["scenes"]![0]!["nodes"] = new JsonArray(Depth - 1);

        Assert.All(Read(file).Mesh.Positions.ToArray(), p => Assert.Equal(Depth, p.Z));
    }

    [Fact]
    public void Links_inside_the_folder_are_followed_and_those_out_of_it_refused()
    {
        GlbFile file = External("link.bin");
        string inside = Path.Combine(_folder.FullName, "inside"), link = Path.Combine(inside, "link.bin");
        Directory.CreateDirectory(inside);
        File.WriteAllBytes(Path.Combine(inside, "real.bin"), file.Buffer);
        File.WriteAllBytes(Path.Combine(_folder.FullName, "outside.bin"), file.Buffer);
        string path = Path.Combine(inside, "head.gltf");
        File.WriteAllBytes(path, Text(file));

        File.CreateSymbolicLink(link, "real.bin");
        Assert.Equal(3, MeshReader.Read(path).Mesh.VertexCount);

        foreach (string target in (string[])["../outside.bin", Path.Combine(_folder.FullName, "outside.bin"), "link.bin"])
        {
            File.Delete(link);
            File.CreateSymbolicLink(link, target);
            var fault = Assert.Throws<MeshFormatException>(() => MeshReader.Read(path));
            Assert.Equal("buffer 0", fault.Element);
            Assert.Contains("is a link that leads", fault.Reason, StringComparison.Ordinal);
        }

        // A folder that is reached by a link itself is as good as any.
        File.Delete(link);
        File.CreateSymbolicLink(link, "real.bin");
        Directory.CreateSymbolicLink(Path.Combine(_folder.FullName, "way"), inside);
        Assert.Equal(3, MeshReader.Read(Path.Combine(_folder.FullName, "way", "head.gltf")).Mesh.VertexCount);
    }

    [Fact]
    public void Nodes_that_form_no_tree_are_named()
    {
        GlbFile file = Plain();
        file.Json["nodes"] = new JsonArray(
            new JsonObject { ["mesh"] = 0 },
            new JsonObject { ["children"] = new JsonArray(2) },
            new JsonObject { ["children"] = new JsonArray(3) },
            new JsonObject { ["children"] = new JsonArray(1) });
        AssertFault(file, "node 1", "is its own ancestor");

        file.Json["nodes"]![3]!["children"] = new JsonArray(3);
        AssertFault(file, "node 3", "is a child of node 2 and of node 3");

        file.Json["nodes"]![3]!["children"] = new JsonArray(4);
        AssertFault(file, "node 3", "child 4 of 4 nodes");
    }

    [Fact]
    public void Faulty_accessors_are_named()
    {
        AssertFault(Broken(f => f["accessors"]![0]!["count"] = 4), "accessor 0", "4 items of 12 bytes every 12 from byte 0 don't fit the 36 bytes of buffer view 0");
        AssertFault(Broken(f => f["accessors"]![0]!["count"] = 10_000_000), "accessor 0", "10000000 items of 12 bytes every 12 from byte 0 don't fit the 36 bytes of buffer view 0");
        AssertFault(Broken(f => f["accessors"]![0]!.AsObject().Remove("bufferView")), "accessor 0", "has no buffer view");
        AssertFault(Broken(f => f["accessors"]![0]!["type"] = "VEC2"), "accessor 0", "type VEC2 where VEC3 should be");
        AssertFault(Broken(f => f["accessors"]![1]!["componentType"] = 5126), "accessor 1", "indices of type FLOAT");
        AssertFault(Broken(f => f["accessors"]![1]!["count"] = 2), "node 0: mesh 0: primitive 0", "2 corners are not a multiple of three");
        AssertFault(Broken(f => f["meshes"]![0]!["primitives"]![0]!["attributes"] = new JsonObject { ["NORMAL"] = 0 }), "node 0: mesh 0: primitive 0", "no attribute POSITION");
    }

    [Fact]
    public void Faulty_numbers_are_named()
    {
        var file = new GlbFile();
        file.Node(new() { ["mesh"] = file.Mesh([default, new(1, float.NaN, 0), Vector3.UnitY], [0, 1, 2]) });
        AssertFault(file, "node 0: mesh 0: primitive 0", "vertex 1: position <NaN, NaN, NaN> is not finite");

        file = new GlbFile();
        file.Node(new() { ["mesh"] = file.Mesh([default, Vector3.UnitX, Vector3.UnitY], [0, 1, 3]), ["name"] = "Head" });
        AssertFault(file, "node 0 'Head': mesh 0: primitive 0", "corner 2: index 3 of 3 vertices");

        file = Plain();
        file.Json["nodes"]![0]!["scale"] = new JsonArray(1e30, 1e30, 1e30);
        AssertFault(file, "node 0", "its transform is not finite");
    }

    [Fact]
    public void Files_without_triangles_are_refused()
    {
        var file = new GlbFile();
        file.Node(new() { ["name"] = "empty" });
        AssertFault(file, null, "no faces");

        file = new GlbFile();
        file.Node(new() { ["mesh"] = file.Mesh([default, Vector3.UnitX, Vector3.UnitY], [0, 1, 2], mode: 3) });
        AssertFault(file, null, "no faces");

        file = new GlbFile();
        file.Node(new() { ["mesh"] = file.Mesh([default, default, default], [0, 1, 2]) });
        AssertFault(file, null, "no faces but 1 degenerate ones");
    }

    [Fact]
    public void Faulty_containers_are_refused()
    {
        byte[] good = Plain().ToBytes();
        void Check(string? element, string reason, byte[] bytes)
        {
            var fault = Assert.Throws<MeshFormatException>(() => TestMeshes.Read(bytes, "head.glb"));
            Assert.Equal(element, fault.Element);
            Assert.Equal(reason, fault.Reason);
        }

        byte[] Changed(int offset, uint value)
        {
            byte[] bytes = [.. good];
            BinaryPrimitives.WriteUInt32LittleEndian(bytes.AsSpan(offset), value);
            return bytes;
        }

        Check("header", "the file ends after 11 bytes", good[..11]);
        Check("header", $"{good.Length} bytes claimed, the file has {good.Length - 1}", good[..^1]);
        Check("header", "glTF version 1; only version 2 can be read", Changed(4, 1));
        Check("chunk 0", $"4294967295 bytes claimed, {good.Length - 20} left", Changed(12, uint.MaxValue));
        Check(null, "no JSON chunk", Changed(16, 7));
        Check("JSON", "not valid UTF-8", Changed(20, 0xFFFFFFFF));
        Check("JSON line 1, byte 2", "not valid JSON", Changed(20, 0x7B7B7B7B));
        Check(null, "JSON, but not glTF: no property 'asset'", Encoding.ASCII.GetBytes("{}"));
        Check("JSON line 2, byte 1", "not valid JSON", Encoding.ASCII.GetBytes("{\n"));
    }

    private static GlbFile Plain()
    {
        var file = new GlbFile();
        file.Node(new() { ["mesh"] = file.Mesh([default, Vector3.UnitX, Vector3.UnitY], [0, 1, 2]) });
        return file;
    }

    private static GlbFile Broken(Action<JsonObject> change)
    {
        GlbFile file = Plain();
        change(file.Json);
        return file;
    }

    private static GlbFile External(string address)
    {
        GlbFile file = Plain();
        file.Json["buffers"] = new JsonArray(new JsonObject { ["uri"] = address, ["byteLength"] = file.Buffer.Length });
        return file;
    }

    private static byte[] Text(GlbFile file) => Encoding.UTF8.GetBytes(file.Json.ToJsonString());

    private string Written(GlbFile file)
    {
        string path = Path.Combine(_folder.FullName, "head.gltf");
        File.WriteAllBytes(path, Text(file));
        return path;
    }

    private static HeadScan Read(GlbFile file) => TestMeshes.Read(file.ToBytes(), "head.glb");

    private static void AssertFault(GlbFile file, string? element, string reason)
    {
        var fault = Assert.Throws<MeshFormatException>(() => Read(file));
        Assert.Equal(element, fault.Element);
        Assert.Equal(reason, fault.Reason);
    }
}
