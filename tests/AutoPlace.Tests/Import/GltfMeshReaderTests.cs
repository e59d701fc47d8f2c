using System.Numerics;
using System.Text.Json.Nodes;
using AutoPlace.Import;
using Xunit;

namespace AutoPlace.Tests.Import;

public sealed class GltfMeshReaderTests
{
    private const float Tolerance = 1e-5f;

    private static readonly Vector3[] Triangle = [Vector3.Zero, Vector3.UnitX, Vector3.UnitY];

    [Fact]
    public void Node_transforms_are_applied_from_the_root_down()
    {
        var file = new GlbFile();
        int mesh = file.Mesh(Triangle, [0, 1, 2]);
        int child = file.Node(new() { ["mesh"] = mesh, ["translation"] = new JsonArray(1, 0, 0) }, root: false);
        int middle = file.Node(
            new()
            {
                ["rotation"] = new JsonArray(0, 0, Math.Sqrt(0.5), Math.Sqrt(0.5)),
                ["scale"] = new JsonArray(2, 3, 4),
                ["children"] = new JsonArray(child),
            },
            root: false);
        file.Node(new()
        {
            ["matrix"] = new JsonArray(1, 0, 0, 0, 0, 1, 0, 0, 0, 0, 1, 0, 10, 20, 30, 1),
            ["children"] = new JsonArray(middle),
        });

        // x -> scaled, a quarter turn about z, moved: (x, y) goes to (-3 y + 10, 2 x + 20).
        AssertClose([new(10, 22, 30), new(10, 24, 30), new(7, 22, 30)], Read(file));
    }

    [Fact]
    public void Mirrored_nodes_turn_the_sense_of_triangles_round()
    {
        var file = new GlbFile();
        int mesh = file.Mesh(Triangle, [0, 1, 2]);
        file.Node(new() { ["mesh"] = mesh, ["scale"] = new JsonArray(-1, 1, 1) });
        HeadScan scan = Read(file);

        Assert.Equal([0, 2, 1], scan.Mesh.Face(0).ToArray());
        Assert.Equal(new Vector3(-1, 0, 0), scan.Mesh.Positions[1]);
    }

    [Fact]
    public void One_mesh_at_two_nodes_makes_two_parts_that_are_not_welded()
    {
        var file = new GlbFile();
        int mesh = file.Mesh(Triangle, [0, 1, 2]);
        file.Node(new() { ["mesh"] = mesh, ["name"] = "Eye" });
        file.Node(new() { ["mesh"] = mesh, ["name"] = "Eye" });
        HeadScan scan = Read(file);

        Assert.Equal([new("Eye", null), new("Eye_2", null)], scan.Parts);
        Assert.Equal(6, scan.Mesh.VertexCount);
        Assert.Equal([0, 1], scan.FaceParts);
    }

    [Fact]
    public void Primitives_of_a_node_are_parts_by_material_and_welded_together()
    {
        var file = new GlbFile();
        file.Add("materials", new JsonObject { ["name"] = "Skin", ["extensions"] = new JsonObject { ["X"] = 1 } });
        file.Add("materials", new JsonObject());
        int positions = file.Positions(Triangle);
        int others = file.Positions([Vector3.UnitX, new(1, 1, 0), Vector3.UnitY]);
        int mesh = file.Add("meshes", new JsonObject
        {
            ["name"] = "Face",
            ["primitives"] = new JsonArray(
                GlbFile.Primitive(positions, null, material: 0),
                GlbFile.Primitive(others, null, material: 1),
                GlbFile.Primitive(positions, null, mode: 1),
                GlbFile.Primitive(positions, null, mode: 0)),
        });
        file.Node(new() { ["mesh"] = mesh });
        HeadScan scan = Read(file);

        Assert.Equal([new("Face", "Skin"), new("Face_2", "material_1")], scan.Parts);
        Assert.Equal(4, scan.Mesh.VertexCount);
        Assert.Equal(2, scan.Mesh.FaceCount);
    }

    [Theory]
    [InlineData(5)]
    [InlineData(6)]
    public void Strips_and_fans_become_triangles_of_one_sense(int mode)
    {
        Vector3[] positions = mode == 5
            ? [new(0, 0, 0), new(1, 0, 0), new(0, 1, 0), new(1, 1, 0), new(0, 2, 0), new(1, 2, 0)]
            : [new(0, 0, 0), new(2, -1, 0), new(2, 0, 0), new(2, 1, 0), new(1, 2, 0), new(0, 2, 0)];
        var file = new GlbFile();
        file.Node(new() { ["mesh"] = file.Mesh(positions, [0, 1, 2, 3, 4, 5], mode) });
        var triangles = Read(file).Mesh.Triangulate(out _);

        Assert.Equal(4, triangles.TriangleCount);
        for (int t = 0; t < 4; t++)
        {
            (Vector3 a, Vector3 b, Vector3 c) = triangles.Corners(t);
            Assert.True(Vector3.Cross(b - a, c - a).Z > 0);
        }
    }

    [Fact]
    public void Default_morph_weights_are_applied_the_node_before_the_mesh()
    {
        foreach (bool atNode in (bool[])[false, true])
        {
            var file = new GlbFile();
            JsonObject primitive = GlbFile.Primitive(file.Positions(Triangle), null);
            int sparse = SparseDisplacement(file, 3, 1, new Vector3(0, 0, 8));
            int dense = file.Positions([Vector3.UnitX, Vector3.UnitX, Vector3.UnitX]);
            primitive["targets"] = new JsonArray(
                new JsonObject { ["POSITION"] = sparse }, new JsonObject { ["POSITION"] = dense });
            int mesh = file.Add("meshes", new JsonObject { ["primitives"] = new JsonArray(primitive), ["weights"] = new JsonArray(0.5, 0) });
            var node = new JsonObject { ["mesh"] = mesh };
            if (atNode)
            {
                node["weights"] = new JsonArray(0, 2);
            }

            file.Node(node);
            AssertClose(
                atNode ? [new(2, 0, 0), new(3, 0, 0), new(2, 1, 0)] : [new(0, 0, 0), new(1, 0, 4), new(0, 1, 0)], Read(file));
        }
    }

    [Fact]
    public void Morph_targets_without_default_weights_are_left_alone()
    {
        var file = new GlbFile();
        JsonObject primitive = GlbFile.Primitive(file.Positions(Triangle), null);
        primitive["targets"] = new JsonArray(new JsonObject { ["POSITION"] = file.Positions([Vector3.One, Vector3.One, Vector3.One]) });
        file.Node(new() { ["mesh"] = file.Add("meshes", new JsonObject { ["primitives"] = new JsonArray(primitive) }) });

        AssertClose(Triangle, Read(file));
    }

    [Fact]
    public void Skins_are_applied_in_the_default_pose_without_the_nodes_own_transform()
    {
        var file = new GlbFile();
        file.Node(SkinnedNode(file, [new(0, 1, 0, 0), new(0, 1, 0, 0), new(0, 1, 0, 0)], [new(1, 0, 0, 0), new(0, 1, 0, 0), new(1, 1, 0, 0)]));

        // Joint 0 stays in its bind pose; joint 1 has moved by (0, 0, 4) from it. The third vertex is half-way.
        AssertClose([new(0, 0, 0), new(1, 0, 4), new(0, 1, 2)], Read(file));
    }

    [Fact]
    public void A_vertex_without_weights_follows_its_first_joint()
    {
        var file = new GlbFile();
        file.Node(SkinnedNode(file, [new(1, 0, 0, 0), default, default], [default, new(1, 0, 0, 0), new(1, 0, 0, 0)]));

        AssertClose([new(0, 0, 4), new(1, 0, 0), new(0, 1, 0)], Read(file));
    }

    [Fact]
    public void Joint_numbers_out_of_range_name_node_and_vertex()
    {
        var file = new GlbFile();
        file.Node(SkinnedNode(file, [default, new(2, 0, 0, 0), default], [new(1, 0, 0, 0), new(1, 0, 0, 0), new(1, 0, 0, 0)]));
        var fault = Assert.Throws<MeshFormatException>(() => Read(file));

        Assert.Equal("node 2 'Body': mesh 0: primitive 0", fault.Element);
        Assert.Equal("vertex 1: joint 2 of 2 joints", fault.Reason);
    }

    [Fact]
    public void Only_the_default_scene_is_read_and_without_scenes_everything()
    {
        var file = new GlbFile();
        int mesh = file.Mesh(Triangle, [0, 1, 2]);
        file.Node(new() { ["mesh"] = mesh, ["name"] = "shown" });
        file.Node(new() { ["mesh"] = mesh, ["name"] = "hidden" }, root: false);
        Assert.Equal("shown", Assert.Single(Read(file).Parts).Name);

        file.Json.Remove("scene");
        Assert.Equal("shown", Assert.Single(Read(file).Parts).Name);

        file.Json.Remove("scenes");
        Assert.Equal(["shown", "hidden"], Read(file).Parts.Select(p => p.Name));
    }

    [Fact]
    public void Sparse_positions_replace_those_of_the_buffer()
    {
        var file = new GlbFile();
        int positions = file.Positions(Triangle);
        file.Json["accessors"]![positions]!["sparse"] = Sparse(file, 2, new Vector3(5, 6, 7));
        file.Node(new() { ["mesh"] = file.Add("meshes", new JsonObject { ["primitives"] = new JsonArray(GlbFile.Primitive(positions, null)) }) });

        AssertClose([Triangle[0], Triangle[1], new(5, 6, 7)], Read(file));
    }

    [Fact]
    public void Quantised_and_interleaved_positions_are_read()
    {
        var file = new GlbFile();
        file.Json["extensionsRequired"] = new JsonArray("KHR_mesh_quantization");
        int view = file.View<short>([0, 0, 0, 99, 32767, 0, 0, 99, 0, -32767, 16384, 99]);
        file.Json["bufferViews"]![view]!["byteStride"] = 8;
        int positions = file.Add("accessors", new JsonObject
        {
            ["bufferView"] = view,
            ["componentType"] = 5122,
            ["normalized"] = true,
            ["count"] = 3,
            ["type"] = "VEC3",
        });
        int indices = file.Accessor<byte>([0, 1, 2], GlbFile.UnsignedByte, "SCALAR");
        file.Node(new() { ["mesh"] = file.Add("meshes", new JsonObject { ["primitives"] = new JsonArray(GlbFile.Primitive(positions, indices)) }) });

        AssertClose([default, new(1, 0, 0), new(0, -1, 16384f / 32767)], Read(file));
    }

    [Fact]
    public void What_geometry_does_not_need_may_be_missing_or_wrong()
    {
        var file = new GlbFile();
        file.Add("images", new JsonObject { ["uri"] = "../../etc/missing.png" });
        file.Add("textures", new JsonObject { ["source"] = 12 });
        file.Add("animations", new JsonObject { ["channels"] = "none" });
        file.Json["extensionsUsed"] = new JsonArray("KHR_draco_mesh_compression", "UNKNOWN_thing");
        file.Json["extensions"] = new JsonObject { ["UNKNOWN_thing"] = new JsonObject() };
        file.Json["extras"] = new JsonObject { ["nodes"] = 5 };
        file.Node(new() { ["mesh"] = file.Mesh(Triangle, [0, 1, 2]), ["extras"] = "a head", ["camera"] = 7 });

        AssertClose(Triangle, Read(file));
    }

    [Fact]
    public void Long_chains_of_nodes_are_read()
    {
        const int Length = 20_000;
        var file = new GlbFile();
        int mesh = file.Mesh(Triangle, [0, 1, 2]);
        var nodes = new JsonArray();
        for (int n = 0; n < Length; n++)
        {
            nodes.Add(new JsonObject { ["translation"] = new JsonArray(1, 0, 0), ["children"] = new JsonArray(n + 1) });
        }

        nodes.Add(new JsonObject { ["mesh"] = mesh });
        file.Json["nodes"] = nodes;
        file.Add("scenes", new JsonObject { ["nodes"] = new JsonArray(0) });

        Assert.Equal(Length, Read(file).Mesh.Positions[0].X);
    }

    private static JsonObject SkinnedNode(GlbFile file, Vector4[] joints, Vector4[] weights)
    {
        Matrix4x4 bind0 = Matrix4x4.CreateTranslation(1, 2, 3);
        Matrix4x4 bind1 = Matrix4x4.CreateTranslation(0, 0, -4);
        Assert.True(Matrix4x4.Invert(bind0, out Matrix4x4 inverse0));
        Assert.True(Matrix4x4.Invert(bind1, out Matrix4x4 inverse1));
        file.Node(new() { ["translation"] = new JsonArray(1, 2, 3) });
        file.Node(new() { ["name"] = "tip" });
        file.Add("skins", new JsonObject
        {
            ["joints"] = new JsonArray(0, 1),
            ["inverseBindMatrices"] = file.Accessor<Matrix4x4>([inverse0, inverse1], GlbFile.Float, "MAT4"),
        });
        byte[] jointBytes = [.. joints.SelectMany(j => new[] { (byte)j.X, (byte)j.Y, (byte)j.Z, (byte)j.W })];
        int jointView = file.View<byte>(jointBytes);
        JsonObject primitive = GlbFile.Primitive(file.Positions(Triangle), null);
        primitive["attributes"]!["JOINTS_0"] = file.Add("accessors", new JsonObject
        {
            ["bufferView"] = jointView,
            ["componentType"] = GlbFile.UnsignedByte,
            ["count"] = 3,
            ["type"] = "VEC4",
        });
        primitive["attributes"]!["WEIGHTS_0"] = file.Accessor<Vector4>(weights, GlbFile.Float, "VEC4");
        int mesh = file.Add("meshes", new JsonObject { ["primitives"] = new JsonArray(primitive) });
        return new JsonObject { ["name"] = "Body", ["mesh"] = mesh, ["skin"] = 0, ["translation"] = new JsonArray(7, 7, 7) };
    }

    private static int SparseDisplacement(GlbFile file, int count, int vertex, Vector3 displacement) =>
        file.Add("accessors", new JsonObject
        {
            ["componentType"] = GlbFile.Float,
            ["count"] = count,
            ["type"] = "VEC3",
            ["sparse"] = Sparse(file, vertex, displacement),
        });

    private static JsonObject Sparse(GlbFile file, int vertex, Vector3 value) => new()
    {
        ["count"] = 1,
        ["indices"] = new JsonObject { ["bufferView"] = file.View<ushort>([(ushort)vertex]), ["componentType"] = GlbFile.UnsignedShort },
        ["values"] = new JsonObject { ["bufferView"] = file.View<Vector3>([value]) },
    };

    private static HeadScan Read(GlbFile file) => TestMeshes.Read(file.ToBytes(), "head.glb");

    private static void AssertClose(Vector3[] expected, HeadScan scan)
    {
        Assert.Equal(expected.Length, scan.Mesh.VertexCount);
        for (int v = 0; v < expected.Length; v++)
        {
            Assert.True(
                Vector3.Distance(expected[v], scan.Mesh.Positions[v]) < Tolerance,
                $"vertex {v}: {scan.Mesh.Positions[v]} instead of {expected[v]}");
        }
    }
}
