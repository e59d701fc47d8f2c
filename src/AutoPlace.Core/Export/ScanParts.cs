using System.Numerics;
using System.Text.Json.Nodes;
using AutoPlace.Geometry;
using AutoPlace.Import;

namespace AutoPlace.Export;

/// <summary>One part of a scan with vertices of its own, as glTF wants it.</summary>
/// <param name="Part">Index among the scan's parts.</param>
/// <param name="Name">Name of the part.</param>
/// <param name="Vertices">The scan's vertices that it uses, in the order of its own numbers.</param>
/// <param name="Numbers">Its own number of each vertex of the scan.</param>
/// <param name="Triangles">Three own numbers for each triangle.</param>
internal sealed record ScanPart(int Part, string Name, IReadOnlyList<int> Vertices, IReadOnlyDictionary<int, uint> Numbers, uint[] Triangles)
{
    /// <summary>The parts that have faces, in file order; polygons are cut into triangles.</summary>
    /// <param name="scan">The scan.</param>
    /// <param name="mesh">Its triangles, file coordinates.</param>
    internal static IReadOnlyList<ScanPart> Of(HeadScan scan, out TriangleMesh mesh)
    {
        mesh = scan.Mesh.Triangulate(out int[] triangleFaces);
        var triangles = new List<int>[scan.Parts.Count];
        for (int t = 0; t < mesh.TriangleCount; t++)
        {
            (triangles[scan.FaceParts[triangleFaces[t]]] ??= []).Add(t);
        }

        var parts = new List<ScanPart>(triangles.Length);
        for (int part = 0; part < triangles.Length; part++)
        {
            if (triangles[part] is List<int> own)
            {
                parts.Add(Of(part, scan.Parts[part].Name, mesh, own));
            }
        }

        return parts;
    }

    /// <summary>Adds its positions and normals to a file.</summary>
    internal JsonObject AddAttributes(GlbContainer file, TriangleMesh mesh, Vector3[] normals)
    {
        float[] positions = new float[3 * Vertices.Count], directions = new float[3 * Vertices.Count];
        for (int v = 0; v < Vertices.Count; v++)
        {
            mesh.Positions[Vertices[v]].CopyTo(positions, 3 * v);
            normals[Vertices[v]].CopyTo(directions, 3 * v);
        }

        return new JsonObject
        {
            ["POSITION"] = file.AddPositions(positions),
            ["NORMAL"] = file.AddAccessor<float>(directions, GlbContainer.Float, "VEC3", 3, GlbContainer.ArrayBuffer),
        };
    }

    private static ScanPart Of(int part, string name, TriangleMesh mesh, List<int> triangles)
    {
        var vertices = new List<int>();
        var numbers = new Dictionary<int, uint>();
        uint[] indices = new uint[3 * triangles.Count];
        for (int i = 0; i < indices.Length; i++)
        {
            int vertex = mesh.Indices[(3 * triangles[i / 3]) + (i % 3)];
            if (!numbers.TryGetValue(vertex, out uint number))
            {
                number = (uint)vertices.Count;
                numbers.Add(vertex, number);
                vertices.Add(vertex);
            }

            indices[i] = number;
        }

        return new ScanPart(part, name, vertices, numbers, indices);
    }
}
