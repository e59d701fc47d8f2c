using System.Globalization;
using System.Numerics;
using System.Text;
using AutoPlace.Geometry;

namespace AutoPlace.TemplateBuilder.Cast.Files;

/// <summary>Writes puppets as Wavefront OBJ: one object and material for each part, faces as they are.</summary>
internal static class ObjHeadFile
{
    /// <summary>Encodes a head.</summary>
    /// <param name="name">Name of the head.</param>
    /// <param name="mesh">All faces, atlas coordinates.</param>
    /// <param name="faceParts">Part of each face, each part's faces together.</param>
    /// <param name="form">Unit and axes.</param>
    public static byte[] Write(string name, PolygonMesh mesh, IReadOnlyList<string> faceParts, FileForm form)
    {
        var text = new StringBuilder();
        text.Append("# ").Append(name).Append(", of The Lantern Market\n");
        foreach (Vector3 position in mesh.Positions)
        {
            Vector3d p = form.ToFile(position);
            text.Append(CultureInfo.InvariantCulture, $"v {p.X:0.####} {p.Y:0.####} {p.Z:0.####}\n");
        }

        for (int f = 0; f < mesh.FaceCount; f++)
        {
            if (f == 0 || faceParts[f] != faceParts[f - 1])
            {
                text.Append("o ").Append(faceParts[f]).Append("\nusemtl ").Append(faceParts[f]).Append('\n');
            }

            text.Append('f');
            foreach (int corner in mesh.Face(f))
            {
                text.Append(' ').Append(corner + 1);
            }

            text.Append('\n');
        }

        return Encoding.UTF8.GetBytes(text.ToString());
    }
}
