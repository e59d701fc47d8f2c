using System.Numerics;
using System.Text.Json.Nodes;
using AutoPlace.Geometry;
using AutoPlace.Import;

namespace AutoPlace.Export;

/// <summary>
/// Writes a scan alone as GLB, for looking at: file coordinates without any transform, so that positions of a placement.json
/// lie where they should. One node and mesh for each part, of two primitives over the same vertices: the triangles, with
/// smooth normals, and as lines the edges that the modeller drew.
/// </summary>
public static class GltfScanWriter
{
    /// <summary>glTF 2.0, 5.24.4 (mesh.primitive.mode): LINES.</summary>
    private const int Lines = 1;

    /// <summary>Writes the file.</summary>
    /// <param name="scan">The scan.</param>
    /// <param name="output">Receives the GLB; stays open.</param>
    public static void Write(HeadScan scan, Stream output)
    {
        ArgumentNullException.ThrowIfNull(scan);
        ArgumentNullException.ThrowIfNull(output);
        GlbContainer file = GlbContainer.Empty();
        IReadOnlyList<ScanPart> parts = ScanPart.Of(scan, out TriangleMesh mesh);
        Vector3[] normals = VertexNormals.AngleWeighted(mesh);
        HashSet<MeshEdge>[] edges = EdgesOfParts(scan);
        var nodes = new JsonArray();
        foreach (ScanPart part in parts)
        {
            JsonObject attributes = part.AddAttributes(file, mesh, normals);
            JsonObject triangles = Primitive(file, attributes, part.Triangles);
            JsonObject lines = Primitive(
                file, attributes.DeepClone().AsObject(), [.. edges[part.Part].SelectMany(e => (uint[])[part.Numbers[e.Low], part.Numbers[e.High]])]);
            lines["mode"] = Lines;
            var content = new JsonObject { ["name"] = part.Name, ["primitives"] = new JsonArray(triangles, lines) };
            nodes.Add(file.Add("nodes", new JsonObject { ["name"] = part.Name, ["mesh"] = file.Add("meshes", content) }));
        }

        file.Add("scenes", new JsonObject { ["nodes"] = nodes });
        file.Root["scene"] = 0;
        file.Write(output);
    }

    private static JsonObject Primitive(GlbContainer file, JsonObject attributes, uint[] indices) => new()
    {
        ["attributes"] = attributes,
        ["indices"] = file.AddAccessor<uint>(indices, GlbContainer.UnsignedInt, "SCALAR", 1, GlbContainer.ElementArrayBuffer),
    };

    private static HashSet<MeshEdge>[] EdgesOfParts(HeadScan scan)
    {
        HashSet<MeshEdge>[] edges = [.. scan.Parts.Select(_ => new HashSet<MeshEdge>())];
        for (int f = 0; f < scan.Mesh.FaceCount; f++)
        {
            ReadOnlySpan<int> corners = scan.Mesh.Face(f);
            for (int i = 0; i < corners.Length; i++)
            {
                int a = corners[i], b = corners[(i + 1) % corners.Length];
                edges[scan.FaceParts[f]].Add(new MeshEdge(Math.Min(a, b), Math.Max(a, b)));
            }
        }

        return edges;
    }
}
