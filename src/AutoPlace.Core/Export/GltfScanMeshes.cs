using System.Numerics;
using System.Text.Json.Nodes;
using AutoPlace.Geometry;
using AutoPlace.Import;

namespace AutoPlace.Export;

/// <summary>
/// The meshes of a scan that didn't come as glTF: one for each part, in file coordinates, polygons cut into triangles,
/// with smooth normals.
/// </summary>
internal static class GltfScanMeshes
{
    /// <summary>Adds a mesh and a node for each part.</summary>
    /// <param name="file">The file.</param>
    /// <param name="scan">The scan.</param>
    /// <param name="influences">Influences by vertex of the scan; null where no joint moves it.</param>
    /// <param name="lattice">Makes the skin.</param>
    /// <returns>The nodes.</returns>
    internal static List<int> Add(GlbContainer file, HeadScan scan, VertexInfluences?[] influences, GltfLattice lattice)
    {
        TriangleMesh mesh = scan.Mesh.Triangulate(out int[] triangleFaces);
        Vector3[] normals = VertexNormals.AngleWeighted(mesh);
        var triangles = new List<int>[scan.Parts.Count];
        for (int t = 0; t < mesh.TriangleCount; t++)
        {
            (triangles[scan.FaceParts[triangleFaces[t]]] ??= []).Add(t);
        }

        var nodes = new List<int>();
        for (int part = 0; part < triangles.Length; part++)
        {
            if (triangles[part] is List<int> own)
            {
                nodes.Add(AddPart(file, scan.Parts[part].Name, mesh, normals, own, influences, lattice));
            }
        }

        return nodes;
    }

    private static int AddPart(
        GlbContainer file,
        string name,
        TriangleMesh mesh,
        Vector3[] normals,
        List<int> triangles,
        VertexInfluences?[] influences,
        GltfLattice lattice)
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

        float[] positions = new float[3 * vertices.Count];
        float[] directions = new float[3 * vertices.Count];
        for (int v = 0; v < vertices.Count; v++)
        {
            mesh.Positions[vertices[v]].CopyTo(positions, 3 * v);
            normals[vertices[v]].CopyTo(directions, 3 * v);
        }

        var attributes = new JsonObject
        {
            ["POSITION"] = file.AddPositions(positions),
            ["NORMAL"] = file.AddAccessor<float>(directions, GlbContainer.Float, "VEC3", 3, GlbContainer.ArrayBuffer),
        };
        VertexInfluences?[] own = [.. vertices.Select(v => influences[v])];
        var node = new JsonObject { ["name"] = name };
        if (own.Any(i => i is not null))
        {
            GltfInfluences.Add(file, attributes, own, lattice.Count);
            node["skin"] = lattice.SkinFor(Matrix4x4.Identity);
        }

        var primitive = new JsonObject
        {
            ["attributes"] = attributes,
            ["indices"] = file.AddAccessor<uint>(indices, GlbContainer.UnsignedInt, "SCALAR", 1, GlbContainer.ElementArrayBuffer),
        };
        node["mesh"] = file.Add("meshes", new JsonObject { ["name"] = name, ["primitives"] = new JsonArray(primitive) });
        return file.Add("nodes", node);
    }
}
