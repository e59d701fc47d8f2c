using System.Numerics;
using System.Text.Json.Nodes;
using AutoPlace.Import;

namespace AutoPlace.Export;

/// <summary>
/// Writes placement.glb: all meshes of the head's file as they are, under one root node that turns and scales them to
/// glTF's frame in metres, and the lattice as named joints of a skin with smooth initial weights.
/// </summary>
public static class GltfPlacementWriter
{
    private const string RootName = "file_to_gltf";

    /// <summary>Writes the placement with the meshes of the head's file: those of the file itself where it is glTF, else those of the scan.</summary>
    /// <param name="result">The placement.</param>
    /// <param name="openHead">Opens the head's file; only called where it is glTF.</param>
    /// <param name="openBeside">Opens files that a .gltf refers to, by their path below its folder; null when there are none.</param>
    /// <param name="output">Receives the GLB; stays open.</param>
    /// <exception cref="MeshFormatException">The head's file can't be read any more.</exception>
    public static void Write(PlacementResult result, Func<Stream> openHead, Func<string, Stream>? openBeside, Stream output)
    {
        ArgumentNullException.ThrowIfNull(result);
        ArgumentNullException.ThrowIfNull(openHead);
        if (result.Scan.Format != MeshFormat.Gltf)
        {
            Write(result, output);
            return;
        }

        using Stream source = openHead();
        Write(result, source, openBeside, output);
    }

    /// <summary>Writes the placement with the meshes of a scan that didn't come as glTF.</summary>
    /// <param name="result">The placement.</param>
    /// <param name="output">Receives the GLB; stays open.</param>
    public static void Write(PlacementResult result, Stream output)
    {
        ArgumentNullException.ThrowIfNull(result);
        ArgumentNullException.ThrowIfNull(output);
        PlacementDocument document = FileCoordinates.Describe(result);
        VertexInfluences?[] influences = InitialWeights.Compute(result);
        GlbContainer file = GlbContainer.Empty();
        int root = AddRoot(file, document);
        file.Add("scenes", new JsonObject { ["nodes"] = new JsonArray(root) });
        file.Root["scene"] = 0;
        GltfLattice lattice = GltfLattice.Add(file, document.Joints, root, Matrix4x4.Identity);
        foreach (int node in GltfScanMeshes.Add(file, result.Scan, influences, lattice))
        {
            GltfLattice.AddChild(file, root, node);
        }

        file.Write(output);
    }

    /// <summary>
    /// Adds the placement to the glTF file that the head was read from; everything in it stays. In a character whose
    /// head already has a skin, the lattice hangs on the joint that carries the head and takes over its weight there.
    /// </summary>
    /// <param name="result">The placement.</param>
    /// <param name="source">The file, .glb or .gltf.</param>
    /// <param name="openBeside">Opens files that a .gltf refers to, by their path below its folder; null when there are none.</param>
    /// <param name="output">Receives the GLB; stays open.</param>
    /// <exception cref="MeshFormatException">The source can't be read.</exception>
    public static void Write(PlacementResult result, Stream source, Func<string, Stream>? openBeside, Stream output)
    {
        ArgumentNullException.ThrowIfNull(result);
        ArgumentNullException.ThrowIfNull(source);
        ArgumentNullException.ThrowIfNull(output);
        PlacementDocument document = FileCoordinates.Describe(result);
        VertexInfluences?[] influences = InitialWeights.Compute(result);
        MeshSource bytes = MeshSource.Load(source, result.Scan.Source, new MeshReadOptions { OpenBeside = openBeside });
        GltfDocument.Guarded(bytes, "JSON", () => Extended(bytes, result, document, influences)).Write(output);
    }

    private static GlbContainer Extended(
        MeshSource source, PlacementResult result, PlacementDocument document, VertexInfluences?[] influences)
    {
        GltfSourceMeshes meshes = GltfSourceMeshes.Match(source, result, influences);
        GlbContainer file = GlbContainer.Open(source);
        NameMeshes(file);
        int root = AddRoot(file, document);
        HangScenesOn(file, root);
        int parent = meshes.LatticeParent < 0 ? root : meshes.LatticeParent;
        GltfLattice lattice = GltfLattice.Add(file, document.Joints, parent, meshes.LatticeParentToScene);
        meshes.Attach(file, lattice, influences);
        return file;
    }

    // A mesh without a name gets that of the first node that shows it, or a number; so does such a node.
    private static void NameMeshes(GlbContainer file)
    {
        JsonArray nodes = file.List("nodes"), meshes = file.List("meshes");
        for (int n = 0; n < nodes.Count; n++)
        {
            if (nodes[n] is JsonObject node && (int?)node["mesh"] is int index && meshes[index] is JsonObject mesh)
            {
                node["name"] = NameOf(node) ?? NameOf(mesh) ?? $"node_{n}";
                mesh["name"] = NameOf(mesh) ?? NameOf(node);
            }
        }

        for (int m = 0; m < meshes.Count; m++)
        {
            meshes[m]!["name"] = NameOf(meshes[m]!) ?? $"mesh_{m}";
        }
    }

    private static string? NameOf(JsonNode element) => (string?)element["name"] is { Length: > 0 } name ? name : null;

    private static int AddRoot(GlbContainer file, PlacementDocument document)
    {
        AxisAlignment alignment = AxisAlignment.Of(document.Head.Frame, document.Head.MetresPerUnit);
        return file.Add("nodes", new JsonObject
        {
            ["name"] = RootName,
            ["rotation"] = GltfLattice.Quaternion(alignment.Rotation),
            ["scale"] = new JsonArray((float)alignment.Scale.X, (float)alignment.Scale.Y, (float)alignment.Scale.Z),
        });
    }

    // The roots of the default scene move below the new node. A scene that shares one of them gets the new node too,
    // since a node has one parent at most.
    private static void HangScenesOn(GlbContainer file, int root)
    {
        JsonArray scenes = file.List("scenes");
        if (scenes.Count == 0)
        {
            scenes.Add(new JsonObject { ["nodes"] = new JsonArray([.. RootNodes(file).Where(n => n != root).Select(n => (JsonNode)n)]) });
        }

        int main = (int?)file.Root["scene"] ?? 0;
        file.Root["scene"] = main;
        var moved = new HashSet<int>();
        foreach (JsonNode? node in scenes[main]!["nodes"] as JsonArray ?? [])
        {
            if (moved.Add((int)node!))
            {
                GltfLattice.AddChild(file, root, (int)node!);
            }
        }

        foreach (JsonNode? scene in scenes)
        {
            int[] nodes = [.. (scene!["nodes"] as JsonArray ?? []).Select(n => (int)n!)];
            int[] kept = [.. nodes.Where(n => !moved.Contains(n))];
            if (kept.Length < nodes.Length || scene == scenes[main])
            {
                scene["nodes"] = new JsonArray([.. kept.Append(root).Select(n => (JsonNode)n)]);
            }
        }
    }

    private static IEnumerable<int> RootNodes(GlbContainer file)
    {
        JsonArray nodes = file.List("nodes");
        var children = new HashSet<int>(nodes.SelectMany(n => (n!["children"] as JsonArray ?? []).Select(c => (int)c!)));
        return Enumerable.Range(0, nodes.Count).Where(n => !children.Contains(n));
    }
}
