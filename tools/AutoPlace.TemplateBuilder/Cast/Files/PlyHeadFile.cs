using System.Numerics;
using System.Text;
using AutoPlace.Geometry;

namespace AutoPlace.TemplateBuilder.Cast.Files;

/// <summary>Writes puppets as binary PLY: one mesh without names of parts.</summary>
internal static class PlyHeadFile
{
    /// <summary>Encodes a head.</summary>
    /// <param name="name">Name of the head.</param>
    /// <param name="mesh">All faces, atlas coordinates.</param>
    /// <param name="form">Unit and axes.</param>
    public static byte[] Write(string name, PolygonMesh mesh, FileForm form)
    {
        using var stream = new MemoryStream();
        string header = $"ply\nformat binary_little_endian 1.0\ncomment {name}, of The Lantern Market\nelement vertex {mesh.VertexCount}\n"
            + "property float x\nproperty float y\nproperty float z\n"
            + $"element face {mesh.FaceCount}\nproperty list uchar int vertex_indices\nend_header\n";
        stream.Write(Encoding.ASCII.GetBytes(header));
        using var writer = new BinaryWriter(stream);
        foreach (Vector3 position in mesh.Positions)
        {
            var p = (Vector3)form.ToFile(position);
            writer.Write(p.X);
            writer.Write(p.Y);
            writer.Write(p.Z);
        }

        for (int f = 0; f < mesh.FaceCount; f++)
        {
            ReadOnlySpan<int> corners = mesh.Face(f);
            writer.Write((byte)corners.Length);
            foreach (int corner in corners)
            {
                writer.Write(corner);
            }
        }

        writer.Flush();
        return stream.ToArray();
    }
}
