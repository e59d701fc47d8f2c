using System.Numerics;
using System.Text.Json.Nodes;
using AutoPlace.Geometry;
using AutoPlace.Import;

namespace AutoPlace.Export;

/// <summary>
/// The meshes of a scan that didn't come as glTF: one for each part, in file coordinates, polygons cut into triangles,
/// with smooth normals; to be seen from both sides where the file had polygons for either.
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
        IReadOnlyList<ScanPart> parts = ScanPart.Of(scan, out TriangleMesh mesh);
        Vector3[] normals = VertexNormals.AngleWeighted(mesh);
        int? material = scan.DoubledFaces > 0 ? file.Add("materials", new JsonObject { ["doubleSided"] = true }) : null;
        return [.. parts.Select(part => AddPart(file, part, mesh, normals, material, influences, lattice))];
    }

    private static int AddPart(
        GlbContainer file, ScanPart part, TriangleMesh mesh, Vector3[] normals, int? material, VertexInfluences?[] influences, GltfLattice lattice)
    {
        JsonObject attributes = part.AddAttributes(file, mesh, normals);
        VertexInfluences?[] own = [.. part.Vertices.Select(v => influences[v])];
        var node = new JsonObject { ["name"] = part.Name };
        if (own.Any(i => i is not null))
        {
            GltfInfluences.Add(file, attributes, own, lattice.Count);
            node["skin"] = lattice.SkinFor(Matrix4x4.Identity);
        }

        var primitive = new JsonObject
        {
            ["attributes"] = attributes,
            ["indices"] = file.AddAccessor<uint>(part.Triangles, GlbContainer.UnsignedInt, "SCALAR", 1, GlbContainer.ElementArrayBuffer),
        };
        if (material is not null)
        {
            primitive["material"] = material;
        }

        node["mesh"] = file.Add("meshes", new JsonObject { ["name"] = part.Name, ["primitives"] = new JsonArray(primitive) });
        return file.Add("nodes", node);
    }
}
