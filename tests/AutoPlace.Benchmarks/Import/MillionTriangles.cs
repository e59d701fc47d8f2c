using System.Globalization;
using System.Numerics;
using System.Runtime.InteropServices;
using System.Text;

namespace AutoPlace.Benchmarks.Import;

/// <summary>A sphere band of 500 x 1000 quads, each cut in two, in several file formats.</summary>
internal static class MillionTriangles
{
    private const int Rings = 500;
    private const int Sectors = 1000;

    /// <summary>The file's bytes.</summary>
    /// <param name="format">Extension: glb, ply, stl, obj or off.</param>
    public static byte[] Written(string format)
    {
        Vector3[] positions = Positions();
        int[] corners = Corners();
        using var stream = new MemoryStream();
        using var writer = new BinaryWriter(stream);
        switch (format)
        {
            case "glb":
                WriteGlb(writer, positions, corners);
                break;
            case "ply":
                WritePly(writer, positions, corners);
                break;
            case "stl":
                WriteStl(writer, positions, corners);
                break;
            case "obj":
                WriteText(writer, "", "v ", "f ", 1, positions, corners);
                break;
            case "off":
                WriteText(writer, $"OFF\n{positions.Length} {corners.Length / 3} 0\n", "", "3 ", 0, positions, corners);
                break;
            default:
                throw new ArgumentOutOfRangeException(nameof(format), format, null);
        }

        writer.Flush();
        return stream.ToArray();
    }

    private static Vector3[] Positions()
    {
        var positions = new Vector3[(Rings + 1) * Sectors];
        for (int v = 0; v < positions.Length; v++)
        {
            (float sinPolar, float cosPolar) = MathF.SinCos(MathF.PI * ((v / Sectors) + 0.5f) / (Rings + 1));
            (float sin, float cos) = MathF.SinCos(MathF.Tau * (v % Sectors) / Sectors);
            positions[v] = new Vector3(sinPolar * sin, cosPolar, sinPolar * cos);
        }

        return positions;
    }

    private static int[] Corners()
    {
        int[] corners = new int[6 * Rings * Sectors];
        for (int quad = 0; quad < Rings * Sectors; quad++)
        {
            int a = quad;
            int d = quad - (quad % Sectors) + ((quad + 1) % Sectors);
            int b = a + Sectors;
            int c = d + Sectors;
            new[] { a, b, c, a, c, d }.CopyTo(corners, 6 * quad);
        }

        return corners;
    }

    private static void WriteGlb(BinaryWriter writer, Vector3[] positions, int[] corners)
    {
        int positionBytes = 12 * positions.Length;
        int cornerBytes = 4 * corners.Length;
        string json = "{\"asset\":{\"version\":\"2.0\"},\"scenes\":[{\"nodes\":[0]}],\"nodes\":[{\"mesh\":0}],"
            + "\"meshes\":[{\"primitives\":[{\"attributes\":{\"POSITION\":0},\"indices\":1}]}],\"accessors\":["
            + $"{{\"bufferView\":0,\"componentType\":5126,\"count\":{positions.Length},\"type\":\"VEC3\"}},"
            + $"{{\"bufferView\":1,\"componentType\":5125,\"count\":{corners.Length},\"type\":\"SCALAR\"}}],\"bufferViews\":["
            + $"{{\"buffer\":0,\"byteLength\":{positionBytes}}},"
            + $"{{\"buffer\":0,\"byteOffset\":{positionBytes},\"byteLength\":{cornerBytes}}}],"
            + $"\"buffers\":[{{\"byteLength\":{positionBytes + cornerBytes}}}]}}";
        json = json.PadRight((json.Length + 3) / 4 * 4);
        writer.Write("glTF"u8);
        writer.Write(2);
        writer.Write(12 + 8 + json.Length + 8 + positionBytes + cornerBytes);
        writer.Write(json.Length);
        writer.Write("JSON"u8);
        writer.Write(Encoding.ASCII.GetBytes(json));
        writer.Write(positionBytes + cornerBytes);
        writer.Write("BIN\0"u8);
        writer.Write(MemoryMarshal.AsBytes<Vector3>(positions));
        writer.Write(MemoryMarshal.AsBytes<int>(corners));
    }

    private static void WritePly(BinaryWriter writer, Vector3[] positions, int[] corners)
    {
        writer.Write(Encoding.ASCII.GetBytes(
            $"ply\nformat binary_little_endian 1.0\nelement vertex {positions.Length}\nproperty float x\nproperty float y\n"
            + $"property float z\nelement face {corners.Length / 3}\nproperty list uchar int vertex_indices\nend_header\n"));
        writer.Write(MemoryMarshal.AsBytes<Vector3>(positions));
        for (int c = 0; c < corners.Length; c += 3)
        {
            writer.Write((byte)3);
            writer.Write(MemoryMarshal.AsBytes(corners.AsSpan(c, 3)));
        }
    }

    private static void WriteStl(BinaryWriter writer, Vector3[] positions, int[] corners)
    {
        writer.Write(new byte[80]);
        writer.Write(corners.Length / 3);
        Span<Vector3> triangle = stackalloc Vector3[4];
        for (int c = 0; c < corners.Length; c += 3)
        {
            for (int i = 0; i < 3; i++)
            {
                triangle[i + 1] = positions[corners[c + i]];
            }

            writer.Write(MemoryMarshal.AsBytes(triangle));
            writer.Write((ushort)0);
        }
    }

    private static void WriteText(
        BinaryWriter writer, string header, string vertex, string face, int firstIndex, Vector3[] positions, int[] corners)
    {
        var text = new StringBuilder(header);
        foreach (Vector3 p in positions)
        {
            text.Append(CultureInfo.InvariantCulture, $"{vertex}{p.X:R} {p.Y:R} {p.Z:R}\n");
        }

        for (int c = 0; c < corners.Length; c += 3)
        {
            text.Append(
                CultureInfo.InvariantCulture,
                $"{face}{corners[c] + firstIndex} {corners[c + 1] + firstIndex} {corners[c + 2] + firstIndex}\n");
        }

        writer.Write(Encoding.ASCII.GetBytes(text.ToString()));
    }
}
