using System.Buffers.Binary;
using System.Numerics;
using System.Runtime.InteropServices;
using System.Text;
using System.Text.Json.Nodes;
using AutoPlace.Geometry;
using AutoPlace.Import;
using Xunit;

namespace AutoPlace.Tests.Import;

/// <summary>Files damaged at random are read or refused; nothing else may happen. Seeds are part of the test names.</summary>
public sealed class MeshReaderFuzzTests
{
    private const int Seeds = 8;
    private const int FilesPerSeed = 50;

    private static readonly TimeSpan LongestRead = TimeSpan.FromSeconds(20);

    private static readonly string[] Words =
        ["-1", "0", "1e999", "nan", "99999999999999999999", "-", "/", "//", "\\\n", "#", "\"", "{", "]", "null", "1.5", "\0", "\r"];

    /// <summary>Limits of integers, infinity and NaN, a large count.</summary>
    private static readonly uint[] Numbers = [0, 1, 0x7FFFFFFF, 0x80000000, 0xFFFFFFFF, 0x7F800000, 0x7FC00000, 10_000_000];

    public static TheoryData<string, int> Cases
    {
        get
        {
            var cases = new TheoryData<string, int>();
            foreach (string format in (string[])["obj", "off", "ply", "little.ply", "big.ply", "stl", "text.stl", "glb", "gltf"])
            {
                for (int seed = 0; seed < Seeds; seed++)
                {
                    cases.Add(format, seed);
                }
            }

            return cases;
        }
    }

    [Theory]
    [MemberData(nameof(Cases))]
    public void Damaged_files_are_read_or_refused(string format, int seed)
    {
        var random = new Random((seed * 7919) + 17);
        byte[] good = Good(format);
        int refused = 0;
        long start = Environment.TickCount64;
        for (int i = 0; i < FilesPerSeed; i++)
        {
            byte[] bytes = Damaged(good, random);
            try
            {
                HeadScan scan = TestMeshes.Read(bytes, "head." + format);
                Assert.InRange(scan.Mesh.FaceCount, 1, int.MaxValue);
                Assert.Equal(scan.Mesh.FaceCount, scan.FaceParts.Count);
                Assert.All(scan.FaceParts, p => Assert.InRange(p, 0, scan.Parts.Count - 1));
            }
            catch (MeshFormatException fault)
            {
                refused++;
                Assert.Equal("head." + format, fault.File);
                Assert.NotEmpty(fault.Reason);
            }
        }

        Assert.InRange(Environment.TickCount64 - start, 0, LongestRead.TotalMilliseconds);
        Assert.InRange(refused, 1, FilesPerSeed);
    }

    [Theory]
    [MemberData(nameof(Cases))]
    public void Truncated_files_are_read_or_refused(string format, int seed)
    {
        byte[] good = Good(format);
        var random = new Random(seed);
        for (int i = 0; i < FilesPerSeed; i++)
        {
            byte[] bytes = good[..random.Next(good.Length)];
            try
            {
                TestMeshes.Read(bytes, "head." + format);
            }
            catch (MeshFormatException fault)
            {
                Assert.NotEmpty(fault.Reason);
            }
        }
    }

    private static byte[] Damaged(byte[] good, Random random)
    {
        List<byte> bytes = [.. good];
        for (int change = random.Next(1, 8); change > 0 && bytes.Count > 8; change--)
        {
            int at = random.Next(bytes.Count);
            switch (random.Next(6))
            {
                case 0:
                    bytes[at] = (byte)random.Next(256);
                    break;
                case 1:
                    bytes.RemoveRange(at, random.Next(Math.Min(40, bytes.Count - at)));
                    break;
                case 2:
                    bytes.InsertRange(at, Encoding.ASCII.GetBytes(Words[random.Next(Words.Length)]));
                    break;
                case 3:
                    bytes.InsertRange(at, bytes.GetRange(random.Next(at + 1), Math.Min(30, bytes.Count - at)));
                    break;
                case 4 when at + 4 <= bytes.Count:
                    BinaryPrimitives.WriteUInt32LittleEndian(
                        CollectionsMarshal.AsSpan(bytes)[at..], Numbers[random.Next(Numbers.Length)]);
                    break;
                default:
                    bytes.RemoveRange(at, bytes.Count - at);
                    break;
            }
        }

        return [.. bytes];
    }

    private static byte[] Good(string format)
    {
        PolygonMesh ball = TestMeshes.Sphere(4, 5);
        return format switch
        {
            "obj" => [.. "o Head\nusemtl Skin\n"u8, .. MeshText.Obj(ball)],
            "off" => MeshText.Off(ball),
            "ply" => MeshText.PlyText(ball),
            "little.ply" => MeshText.PlyBinary(ball, bigEndian: false),
            "big.ply" => MeshText.PlyBinary(ball, bigEndian: true),
            "stl" => MeshText.StlBinary(ball.Triangulate(out _)),
            "text.stl" => MeshText.StlText(ball.Triangulate(out _)),
            "glb" => Gltf().ToBytes(),
            _ => GltfText(),
        };
    }

    private static byte[] GltfText()
    {
        GlbFile file = Gltf();
        file.Add("buffers", new JsonObject
        {
            ["byteLength"] = file.Buffer.Length,
            ["uri"] = "data:application/octet-stream;base64," + Convert.ToBase64String(file.Buffer),
        });
        return Encoding.UTF8.GetBytes(file.Json.ToJsonString());
    }

    /// <summary>A file with a skin, a morph target, a sparse accessor and instances.</summary>
    private static GlbFile Gltf()
    {
        var file = new GlbFile();
        TriangleMesh ball = TestMeshes.Sphere(4, 5).Triangulate(out _);
        int positions = file.Positions(ball.Positions);
        int indices = file.Indices([.. ball.Indices.ToArray().Select(i => (uint)i)]);
        JsonObject primitive = GlbFile.Primitive(positions, indices, material: file.Add("materials", new JsonObject { ["name"] = "Skin" }));
        byte[] joints = new byte[4 * ball.VertexCount];
        var weights = new Vector4[ball.VertexCount];
        Array.Fill(weights, Vector4.UnitX);
        int jointView = file.View<byte>(joints);
        primitive["attributes"]!["JOINTS_0"] = file.Add("accessors", new JsonObject
        {
            ["bufferView"] = jointView,
            ["componentType"] = GlbFile.UnsignedByte,
            ["count"] = ball.VertexCount,
            ["type"] = "VEC4",
        });
        primitive["attributes"]!["WEIGHTS_0"] = file.Accessor<Vector4>(weights, GlbFile.Float, "VEC4");
        primitive["targets"] = new JsonArray(new JsonObject
        {
            ["POSITION"] = file.Add("accessors", new JsonObject
            {
                ["componentType"] = GlbFile.Float,
                ["count"] = ball.VertexCount,
                ["type"] = "VEC3",
                ["sparse"] = new JsonObject
                {
                    ["count"] = 2,
                    ["indices"] = new JsonObject { ["bufferView"] = file.View<ushort>([3, 5]), ["componentType"] = GlbFile.UnsignedShort },
                    ["values"] = new JsonObject { ["bufferView"] = file.View<Vector3>([Vector3.One, Vector3.UnitX]) },
                },
            }),
        });
        int mesh = file.Add("meshes", new JsonObject { ["primitives"] = new JsonArray(primitive), ["weights"] = new JsonArray(0.5) });
        int joint = file.Node(new() { ["translation"] = new JsonArray(1, 2, 3) });
        file.Add("skins", new JsonObject
        {
            ["joints"] = new JsonArray(joint),
            ["inverseBindMatrices"] = file.Accessor<Matrix4x4>([Matrix4x4.Identity], GlbFile.Float, "MAT4"),
        });
        file.Node(new() { ["name"] = "Body", ["mesh"] = mesh, ["skin"] = 0 });
        file.Node(new() { ["mesh"] = mesh, ["scale"] = new JsonArray(-1, 1, 1) });
        return file;
    }
}
