using System.Numerics;
using System.Text;
using System.Text.Json.Nodes;
using AutoPlace.Export;
using AutoPlace.Geometry;
using AutoPlace.Import;
using AutoPlace.Tests.Export;
using Xunit;

namespace AutoPlace.Tests.Import;

/// <summary>
/// Files damaged at random are read or refused, in bounded time and memory; nothing else may happen. AUTOPLACE_FUZZ sets
/// how many files of each format are tried; every one follows from format and number alone.
/// </summary>
public sealed class MeshReaderFuzzTests
{
    private const string CountVariable = "AUTOPLACE_FUZZ";
    private const int UsualCount = 500;
    private const long MostBytes = 1L << 30;

    private static readonly TimeSpan LongestRead = TimeSpan.FromMinutes(1);

    private static int Count => int.TryParse(Environment.GetEnvironmentVariable(CountVariable), out int count) ? count : UsualCount;

    public static TheoryData<string> Formats => ["obj", "off", "ply", "little.ply", "big.ply", "stl", "text.stl", "glb", "gltf"];

    [Theory]
    [MemberData(nameof(Formats))]
    public void Damaged_files_are_read_or_refused(string format)
    {
        byte[] good = Good(format);
        int refused = Try(format, Count, i => FileDamage.Of(good, Seed(format, i)), bytes =>
        {
            HeadScan scan = TestMeshes.Read(bytes, "head." + format);
            Assert.InRange(scan.Mesh.FaceCount, 1, int.MaxValue);
            Assert.Equal(scan.Mesh.FaceCount, scan.FaceParts.Count);
            Assert.All(scan.FaceParts, p => Assert.InRange(p, 0, scan.Parts.Count - 1));
        });

        // Damage that can't be seen, or that nothing survives, would test nothing.
        Assert.InRange(refused, Count / 10, Count - (Count / 100) - 1);
    }

    /// <summary>The meshes of what the reader accepts are written again, where much more of the file is looked at.</summary>
    [Theory]
    [InlineData("plain")]
    [InlineData("character")]
    public void Damaged_scenes_are_written_or_refused(string kind)
    {
        byte[] good = kind == "plain" ? SampleGltf.Plain() : SampleGltf.Character();
        int count = Count / 10;
        int refused = Try(kind, count, i => FileDamage.OfJson(good, Seed(kind, i)), bytes =>
        {
            HeadScan scan = TestMeshes.Read(bytes, "head.glb");
            using var output = new MemoryStream();
            GltfPlacementWriter.Write(SampleHead.Result(SampleGltf.Frame, scan), new MemoryStream(bytes), null, output);
        });
        Assert.InRange(refused, 1, count - 1);
    }

    /// <summary>Tries files one after the other while another thread looks at the clock.</summary>
    /// <returns>How many were refused.</returns>
    private static int Try(string kind, int count, Func<int, byte[]> file, Action<byte[]> use)
    {
        int refused = 0, current = 0;
        long begun = Environment.TickCount64;
        var work = Task.Run(() =>
        {
            for (int i = 0; i < count; i++)
            {
                byte[] bytes = file(i);
                Volatile.Write(ref begun, Environment.TickCount64);
                Volatile.Write(ref current, i);
                long before = GC.GetAllocatedBytesForCurrentThread();
                refused += IsRefused(() => use(bytes), $"{kind} {i}") ? 1 : 0;
                Assert.InRange(GC.GetAllocatedBytesForCurrentThread() - before, 0, MostBytes);
            }
        });
        while (!work.IsCompleted)
        {
            Thread.Sleep(10);
            Assert.True(
                Environment.TickCount64 - Volatile.Read(ref begun) < LongestRead.TotalMilliseconds,
                $"{kind} {Volatile.Read(ref current)} takes more than {LongestRead}");
        }

        work.GetAwaiter().GetResult();
        return refused;
    }

    private static bool IsRefused(Action use, string name)
    {
        try
        {
            use();
            return false;
        }
        catch (MeshFormatException fault)
        {
            Assert.StartsWith("head.", fault.File, StringComparison.Ordinal);
            Assert.NotEmpty(fault.Reason);
            return true;
        }
        catch (Exception e) when (e is not Xunit.Sdk.XunitException)
        {
            throw new InvalidOperationException($"{name}: {e.GetType().Name}: {e.Message}", e);
        }
    }

    // String hashes differ from run to run.
    private static int Seed(string kind, int file) => kind.Aggregate(file, (seed, c) => unchecked((seed * 31) + c));

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
            "glb" => SkinnedBall().ToBytes(),
            _ => GltfText(),
        };
    }

    private static byte[] GltfText()
    {
        GlbFile file = SkinnedBall();
        file.Add("buffers", new JsonObject
        {
            ["byteLength"] = file.Buffer.Length,
            ["uri"] = "data:application/octet-stream;base64," + Convert.ToBase64String(file.Buffer),
        });
        return Encoding.UTF8.GetBytes(file.Json.ToJsonString());
    }

    /// <summary>A file with a skin, a morph target, a sparse accessor and instances.</summary>
    private static GlbFile SkinnedBall()
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
