using System.Buffers.Binary;
using System.Numerics;
using System.Text;
using AutoPlace.Import;
using Xunit;

namespace AutoPlace.Tests.Import;

public sealed class PlyMeshReaderTests
{
    private const string TextHeader =
        "ply\nformat ascii 1.0\nelement vertex 3\nproperty float x\nproperty float y\nproperty float z\n"
        + "element face 1\nproperty list uchar int vertex_indices\nend_header\n";

    private static readonly Vector3[] Corners = [new(1, 2, 3), new(-4, 5, 6), new(7, -8, 9)];

    public static TheoryData<string, bool> Types
    {
        get
        {
            var types = new TheoryData<string, bool>();
            foreach (string type in (string[])["char", "uchar", "short", "ushort", "int", "uint", "int8", "uint8",
                "int16", "uint16", "int32", "uint32", "float", "float32", "double", "float64"])
            {
                types.Add(type, false);
                types.Add(type, true);
            }

            return types;
        }
    }

    [Theory]
    [MemberData(nameof(Types))]
    public void Numbers_of_every_type_and_order_are_read(string type, bool bigEndian)
    {
        bool real = type is "float" or "float32" or "double" or "float64";
        bool unsigned = type[0] == 'u';
        string index = real ? "short" : type;
        using var stream = new MemoryStream();
        stream.Write(Encoding.ASCII.GetBytes(
            $"ply\r\nformat binary_{(bigEndian ? "big" : "little")}_endian 1.0\r\ncomment made by a test\r\nobj_info none\r\n"
            + "element camera 2\r\nproperty list uchar double notes\r\nproperty uchar on\r\n"
            + $"element vertex 3\r\nproperty uchar red\r\nproperty {type} z\r\nproperty list ushort short extra\r\nproperty {type} x\r\n"
            + $"property {type} y\r\nelement face 1\r\nproperty float quality\r\nproperty list {index} {index} vertex_index\r\n"
            + "property list uchar float texcoord\r\nend_header\r\n"));
        void Put(string t, double value) => stream.Write(Bytes(t, value, bigEndian));
        foreach (int notes in (int[])[0, 3])
        {
            Put("uchar", notes);
            for (int i = 0; i < notes; i++)
            {
                Put("double", 1e300);
            }

            Put("uchar", 1);
        }

        foreach (Vector3 corner in Corners)
        {
            Vector3 p = unsigned ? Vector3.Abs(corner) : corner;
            Put("uchar", 255);
            Put(type, p.Z);
            Put("ushort", 2);
            Put("short", -1);
            Put("short", -2);
            Put(type, p.X);
            Put(type, p.Y);
        }

        Put("float", 0.5);
        Put(index, 3);
        Put(index, 2);
        Put(index, 0);
        Put(index, 1);
        Put("uchar", 1);
        Put("float", 0.25);
        HeadScan scan = TestMeshes.Read(stream.ToArray(), "head.ply");

        Assert.Equal(unsigned ? [.. Corners.Select(Vector3.Abs)] : Corners, scan.Mesh.Positions.ToArray());
        Assert.Equal([2, 0, 1], scan.Mesh.Face(0).ToArray());
    }

    [Fact]
    public void Binary_data_that_begins_with_a_line_end_is_kept_apart_from_the_header()
    {
        // 0x0A0A0A0A is a small float; a header that ends with CR alone must not swallow one of its bytes.
        byte[] number = [10, 10, 10, 10];
        foreach (string end in (string[])["\n", "\r\n", "\r"])
        {
            using var stream = new MemoryStream();
            stream.Write(Encoding.ASCII.GetBytes(TextHeader.Replace("ascii", "binary_little_endian", StringComparison.Ordinal)
                .Replace("\n", end, StringComparison.Ordinal)));
            for (int i = 0; i < 9; i++)
            {
                stream.Write(i is 0 or 4 or 8 ? number : new byte[4]);
            }

            stream.Write([3, 0, 0, 0, 0, 1, 0, 0, 0, 2, 0, 0, 0]);
            HeadScan scan = TestMeshes.Read(stream.ToArray(), "head.ply");

            Assert.Equal(BitConverter.ToSingle(number), scan.Mesh.Positions[0].X);
            Assert.Equal(BitConverter.ToSingle(number), scan.Mesh.Positions[2].Z);
        }
    }

    [Fact]
    public void Vertices_split_for_normals_are_welded()
    {
        // A folded sheet whose inner vertices are split all along the fold, but shared by faces on both sides.
        HeadScan scan = TestMeshes.Read(Encoding.ASCII.GetBytes(
            "ply\nformat ascii 1.0\nelement vertex 6\nproperty float x\nproperty float y\nproperty float z\nproperty float nx\n"
            + "property float ny\nproperty float nz\nelement face 2\nproperty list uchar int vertex_indices\nend_header\n"
            + "0 0 0 0 0 1\n1 0 0 0 0 1\n1 1 0 0 0 1\n1 0 0 1 0 0\n1 1 0 1 0 0\n1 0 -1 1 0 0\n3 0 1 2\n3 3 5 4\n"), "head.ply");

        Assert.Equal(4, scan.Mesh.VertexCount);
    }

    [Theory]
    [InlineData("ply\nformat ascii 1.0\n", "line 3", "the file ends before its header does ('end_header')")]
    [InlineData("ply\nelement vertex 1\nproperty float x\nend_header\n1\n", "header", "no 'format' line")]
    [InlineData("ply\nformat utf8 1.0\nend_header\n", "line 2", "unknown format 'utf8'")]
    [InlineData("ply\nformat ascii 1.0\nelement vertex many\nend_header\n", "line 3", "'many' is not a number of rows")]
    [InlineData("ply\nformat ascii 1.0\nelement vertex -1\nend_header\n", "line 3", "'-1' is not a number of rows")]
    [InlineData("ply\nformat ascii 1.0\nelement vertex 1\nproperty quad x\nend_header\n", "line 4", "unknown type 'quad'")]
    [InlineData("ply\nformat ascii 1.0\nelement vertex 1\nproperty float\nend_header\n", "line 4", "'property float' is not a property")]
    [InlineData("ply\nformat ascii 1.0\nelement vertex 1\nproperty list float int a\nend_header\n", "line 4", "'float' is not a type for the length of a list")]
    [InlineData("ply\nformat ascii 1.0\nvertices 4\nend_header\n", "line 3", "'vertices 4' is not a line of a PLY header")]
    [InlineData("ply\nformat ascii 1.0\nelement vertex 1\nproperty float x\nend_header\n1\n", "element 'vertex'", "no properties x, y, z")]
    [InlineData("ply\nformat ascii 1.0\nend_header\n", null, "no faces")]
    [InlineData("ply\nformat ascii 1.0\nelement face 1\nproperty int vertex_indices\nend_header\n1\n", "element 'face'", "no list property vertex_indices")]
    [InlineData("ply\nformat ascii 1.0\nelement tristrips 1\nproperty list int int vertex_indices\nend_header\n3 0 1 2\n", "element 'tristrips'", "triangle strips can't be read; export faces instead")]
    [InlineData(TextHeader + "0 0 0\n1 0 0\n0 one 0\n3 0 1 2\n", "line 12: vertex 2", "'one' is not a number")]
    [InlineData(TextHeader + "0 0 0\n1 0 0\n0 1 0\n3 0 1 3\n", "line 13: face 0", "vertex 3 of 3 vertices")]
    [InlineData(TextHeader + "0 0 0\n1 0 0\n0 1 0\n3 0 1 -1\n", "line 13: face 0", "vertex -1 of 3 vertices")]
    [InlineData(TextHeader + "0 0 0\n1 0 0\n0 1 0\n3 0 1 2.5\n", "line 13: face 0", "'2.5' is not an integer")]
    [InlineData(TextHeader + "0 0 0\n1 0 0\n0 1 0\n-3 0 1 2\n", "line 13: face 0", "a list of -3 items")]
    [InlineData(TextHeader + "0 0 0\n1 0 0\n0 1 1e999\n3 0 1 2\n", "vertex 2", "position <0, 1, Infinity> is not finite")]
    public void Faulty_files_name_their_element(string text, string? element, string reason)
    {
        var fault = Assert.Throws<MeshFormatException>(() => TestMeshes.Read(Encoding.ASCII.GetBytes(text), "head.ply"));

        Assert.Equal(element, fault.Element);
        Assert.Equal(reason, fault.Reason);
    }

    [Fact]
    public void Truncated_files_name_the_row_where_they_end()
    {
        byte[] text = Encoding.ASCII.GetBytes(TextHeader + "0 0 0\n1 0 0\n0 1 0\n3 0");
        Assert.Equal("line 13: face 0", Assert.Throws<MeshFormatException>(() => TestMeshes.Read(text, "a.ply")).Element);

        byte[] binary = MeshText.PlyBinary(TestMeshes.Sphere(4, 5), bigEndian: true);
        var fault = Assert.Throws<MeshFormatException>(() => TestMeshes.Read(binary[..^1], "a.ply"));
        Assert.Equal("face 19", fault.Element);
        Assert.Equal("the file ends within it", fault.Reason);
    }

    [Theory]
    [InlineData("vertex", "ascii")]
    [InlineData("face", "ascii")]
    [InlineData("vertex", "binary_little_endian")]
    [InlineData("face", "binary_little_endian")]
    public void What_the_header_claims_is_checked_before_room_is_made(string element, string format)
    {
        string text = TextHeader.Replace("ascii", format, StringComparison.Ordinal)
            .Replace($"element {element} {(element == "vertex" ? 3 : 1)}", $"element {element} 10000000", StringComparison.Ordinal);
        byte[] bytes = [.. Encoding.ASCII.GetBytes(text), .. new byte[1000]];
        long before = GC.GetAllocatedBytesForCurrentThread();
        var fault = Assert.Throws<MeshFormatException>(() => TestMeshes.Read(bytes, "head.ply"));

        Assert.Equal($"element '{element}'", fault.Element);
        Assert.Equal("10000000 rows don't fit the 1000 bytes after the header", fault.Reason);
        Assert.InRange(GC.GetAllocatedBytesForCurrentThread() - before, 0, 1_000_000);
    }

    private static byte[] Bytes(string type, double value, bool bigEndian)
    {
        byte[] bytes = new byte[8];
        int length = type switch
        {
            "char" or "int8" or "uchar" or "uint8" => 1,
            "short" or "int16" or "ushort" or "uint16" => 2,
            "float" or "float32" or "int" or "int32" or "uint" or "uint32" => 4,
            _ => 8,
        };
        if (type is "double" or "float64")
        {
            BinaryPrimitives.WriteDoubleLittleEndian(bytes, value);
        }
        else if (type is "float" or "float32")
        {
            BinaryPrimitives.WriteSingleLittleEndian(bytes, (float)value);
        }
        else
        {
            BinaryPrimitives.WriteInt64LittleEndian(bytes, (long)value);
        }

        Array.Resize(ref bytes, length);
        if (bigEndian)
        {
            Array.Reverse(bytes);
        }

        return bytes;
    }
}
