using System.Globalization;
using System.Numerics;
using System.Text;
using AutoPlace.Geometry;

namespace AutoPlace.Tests.Import;

/// <summary>Writes polygon meshes in the formats that are read.</summary>
internal static class MeshText
{
    public static byte[] Obj(PolygonMesh mesh)
    {
        var text = new StringBuilder("# a mesh\n");
        foreach (Vector3 p in mesh.Positions)
        {
            text.Append(CultureInfo.InvariantCulture, $"v {p.X:R} {p.Y:R} {p.Z:R}\n");
        }

        for (int f = 0; f < mesh.FaceCount; f++)
        {
            text.Append('f');
            foreach (int v in mesh.Face(f))
            {
                text.Append(CultureInfo.InvariantCulture, $" {v + 1}");
            }

            text.Append('\n');
        }

        return Encoding.UTF8.GetBytes(text.ToString());
    }

    public static byte[] Off(PolygonMesh mesh)
    {
        var text = new StringBuilder();
        text.Append(CultureInfo.InvariantCulture, $"OFF\n{mesh.VertexCount} {mesh.FaceCount} 0\n");
        AppendRows(text, mesh);
        return Encoding.UTF8.GetBytes(text.ToString());
    }

    public static byte[] PlyText(PolygonMesh mesh)
    {
        var text = new StringBuilder(PlyHeader(mesh, "ascii"));
        AppendRows(text, mesh);
        return Encoding.UTF8.GetBytes(text.ToString());
    }

    public static byte[] PlyBinary(PolygonMesh mesh, bool bigEndian)
    {
        using var stream = new MemoryStream();
        stream.Write(Encoding.ASCII.GetBytes(PlyHeader(mesh, bigEndian ? "binary_big_endian" : "binary_little_endian")));
        foreach (Vector3 p in mesh.Positions)
        {
            Write(stream, BitConverter.GetBytes(p.X), bigEndian);
            Write(stream, BitConverter.GetBytes(p.Y), bigEndian);
            Write(stream, BitConverter.GetBytes(p.Z), bigEndian);
        }

        for (int f = 0; f < mesh.FaceCount; f++)
        {
            stream.WriteByte((byte)mesh.Face(f).Length);
            foreach (int v in mesh.Face(f))
            {
                Write(stream, BitConverter.GetBytes(v), bigEndian);
            }
        }

        return stream.ToArray();
    }

    public static byte[] StlText(TriangleMesh mesh)
    {
        var text = new StringBuilder("solid one\n");
        for (int t = 0; t < mesh.TriangleCount; t++)
        {
            (Vector3 a, Vector3 b, Vector3 c) = mesh.Corners(t);
            text.Append(" facet normal 0 0 0\n  outer loop\n");
            foreach (Vector3 p in new[] { a, b, c })
            {
                text.Append(CultureInfo.InvariantCulture, $"   vertex {p.X:R} {p.Y:R} {p.Z:R}\n");
            }

            text.Append("  endloop\n endfacet\n");
        }

        return Encoding.UTF8.GetBytes(text.Append("endsolid one\n").ToString());
    }

    public static byte[] StlBinary(TriangleMesh mesh, string header = "a mesh")
    {
        using var stream = new MemoryStream();
        using var writer = new BinaryWriter(stream);
        byte[] title = new byte[80];
        Encoding.ASCII.GetBytes(header).CopyTo(title, 0);
        writer.Write(title);
        writer.Write(mesh.TriangleCount);
        for (int t = 0; t < mesh.TriangleCount; t++)
        {
            (Vector3 a, Vector3 b, Vector3 c) = mesh.Corners(t);
            foreach (Vector3 p in new[] { default, a, b, c })
            {
                writer.Write(p.X);
                writer.Write(p.Y);
                writer.Write(p.Z);
            }

            writer.Write((ushort)0);
        }

        writer.Flush();
        return stream.ToArray();
    }

    private static string PlyHeader(PolygonMesh mesh, string format) =>
        $"ply\nformat {format} 1.0\ncomment a mesh\nelement vertex {mesh.VertexCount}\nproperty float x\nproperty float y\n"
        + $"property float z\nelement face {mesh.FaceCount}\nproperty list uchar int vertex_indices\nend_header\n";

    private static void AppendRows(StringBuilder text, PolygonMesh mesh)
    {
        foreach (Vector3 p in mesh.Positions)
        {
            text.Append(CultureInfo.InvariantCulture, $"{p.X:R} {p.Y:R} {p.Z:R}\n");
        }

        for (int f = 0; f < mesh.FaceCount; f++)
        {
            text.Append(CultureInfo.InvariantCulture, $"{mesh.Face(f).Length}");
            foreach (int v in mesh.Face(f))
            {
                text.Append(CultureInfo.InvariantCulture, $" {v}");
            }

            text.Append('\n');
        }
    }

    private static void Write(Stream stream, byte[] number, bool bigEndian)
    {
        if (bigEndian == BitConverter.IsLittleEndian)
        {
            Array.Reverse(number);
        }

        stream.Write(number);
    }
}
