using System.Numerics;
using System.Text.Json.Nodes;
using AutoPlace.Import;
using SharpGLTF.Schema2;

namespace AutoPlace.Export;

/// <summary>
/// The meshes of a glTF file that a lattice is added to. Vertices are matched with those of the scan by their position
/// in the scene. A mesh without skin gets the lattice as its skin. In a mesh with a skin, the weight of the joint that
/// carries the head is shared out among the lattice, and other weights stay; a mesh without skin that hangs on another
/// joint stays as it is.
/// </summary>
internal sealed class GltfSourceMeshes
{
    /// <summary>Vertices this near to the eyes' midpoint, in interocular distances, tell which joint carries the head.</summary>
    private const double FaceReach = 1.5;

    private readonly MeshSource _source;
    private readonly ModelRoot _model;
    private readonly GltfPose _pose;
    private readonly HashSet<int> _joints;
    private readonly List<SourceMesh> _meshes = [];

    private GltfSourceMeshes(MeshSource source)
    {
        _source = source;
        _model = GltfDocument.Open(source);
        _pose = GltfPose.Of(source, _model);
        _joints = [.. _model.LogicalSkins.SelectMany(s => s.Joints).Select(j => j.LogicalIndex)];
    }

    /// <summary>Node that the lattice's roots hang on, or -1 for the file's new root node.</summary>
    internal int LatticeParent { get; private set; } = -1;

    /// <summary>Where that node is in scene coordinates (row vectors).</summary>
    internal Matrix4x4 LatticeParentToScene =>
        LatticeParent < 0 ? Matrix4x4.Identity : _pose.NodeToScene(_model.LogicalNodes[LatticeParent]);

    /// <summary>Finds the vertices of the head in the file.</summary>
    /// <param name="source">The file, the same that the scan was read from.</param>
    /// <param name="result">The placement on it.</param>
    /// <param name="influences">Influences by vertex of the scan.</param>
    internal static GltfSourceMeshes Match(MeshSource source, PlacementResult result, VertexInfluences?[] influences)
    {
        var meshes = new GltfSourceMeshes(source);
        var lookup = new ScanVertexLookup(result.Scan.Mesh, result.Frame.InterocularDistance);
        foreach (Node node in GltfMeshReader.NodesInScene(source, meshes._model))
        {
            if (node.Mesh is not null && meshes.Read(node, lookup) is SourceMesh mesh
                && mesh.Primitives.Any(p => p.ScanVertices.Any(v => v >= 0 && influences[v] is not null)))
            {
                meshes._meshes.Add(mesh);
            }
        }

        meshes.ChooseParent(result);
        return meshes;
    }

    /// <summary>Gives the head's meshes their joints and weights.</summary>
    /// <param name="file">The file being written.</param>
    /// <param name="lattice">The lattice, already in it.</param>
    /// <param name="influences">Influences by vertex of the scan.</param>
    internal void Attach(GlbContainer file, GltfLattice lattice, VertexInfluences?[] influences)
    {
        RestoreBindPose(file);
        var usedMeshes = new HashSet<int>();
        var widened = new Dictionary<int, int>();
        foreach (SourceMesh mesh in _meshes)
        {
            Node node = _model.LogicalNodes[mesh.Node];
            int headJoint = mesh.IsSkinned ? HeadJointIn(node.Skin) : -1;
            if (mesh.IsSkinned ? headJoint < 0 : HangsOnOtherJoint(node))
            {
                continue;
            }

            JsonObject json = file.List("nodes")[mesh.Node]!.AsObject();
            if (!usedMeshes.Add((int)json["mesh"]!))
            {
                json["mesh"] = file.Add("meshes", file.List("meshes")[(int)json["mesh"]!]!.DeepClone().AsObject());
            }

            json["skin"] = mesh.IsSkinned
                ? WidenedSkin(file, lattice, node.Skin, headJoint, widened)
                : lattice.SkinFor(_pose.NodeToScene(node));
            JsonArray primitives = file.List("meshes")[(int)json["mesh"]!]!["primitives"]!.AsArray();
            for (int p = 0; p < mesh.Primitives.Count; p++)
            {
                JsonObject attributes = primitives[p]!["attributes"]!.AsObject();
                AttachPrimitive(file, lattice, attributes, mesh.Primitives[p], mesh.IsSkinned ? node.Skin : null, headJoint, influences);
            }
        }
    }

    private static void AttachPrimitive(
        GlbContainer file,
        GltfLattice lattice,
        JsonObject attributes,
        SourcePrimitive primitive,
        Skin? skin,
        int headJoint,
        VertexInfluences?[] influences)
    {
        int oldJoints = skin?.JointsCount ?? 0;
        var own = new VertexInfluences?[primitive.ScanVertices.Length];
        for (int v = 0; v < own.Length; v++)
        {
            VertexInfluences? onLattice = primitive.ScanVertices[v] < 0 ? null : influences[primitive.ScanVertices[v]];
            own[v] = skin is null
                ? onLattice
                : VertexInfluences.Share(primitive.OldInfluences(v), headJoint, onLattice, oldJoints);
        }

        foreach (string name in attributes.Select(a => a.Key).Where(IsInfluence).ToArray())
        {
            attributes.Remove(name);
        }

        GltfInfluences.Add(file, attributes, own, oldJoints + lattice.Count);
    }

    private static bool IsInfluence(string attribute) =>
        attribute.StartsWith("JOINTS_", StringComparison.Ordinal) || attribute.StartsWith("WEIGHTS_", StringComparison.Ordinal);

    // A vertex that follows the head's joint alone goes from the mesh to the scene by that joint's matrix; the lattice
    // takes over from there.
    private int WidenedSkin(GlbContainer file, GltfLattice lattice, Skin skin, int headJoint, Dictionary<int, int> widened)
    {
        if (widened.TryGetValue(skin.LogicalIndex, out int index))
        {
            return index;
        }

        int old = skin.JointsCount;
        float[] inverseBinds = new float[16 * (old + lattice.Count)];
        for (int j = 0; j < old; j++)
        {
            GltfLattice.WriteAffine(InverseBind(skin, j), inverseBinds.AsSpan(16 * j, 16));
        }

        Matrix4x4 meshToScene = InverseBind(skin, headJoint) * _pose.NodeToScene(skin.Joints[headJoint]);
        lattice.WriteInverseBinds(meshToScene, inverseBinds.AsSpan(16 * old));
        int[] nodes = [.. skin.Joints.Select(n => n.LogicalIndex), .. Enumerable.Range(lattice.FirstNode, lattice.Count)];
        index = lattice.AddSkin(skin.Name ?? "lattice", nodes, inverseBinds);
        widened.Add(skin.LogicalIndex, index);
        return index;
    }

    // A collar that hangs on the chest doesn't turn with the head.
    private bool HangsOnOtherJoint(Node node)
    {
        for (Node? up = node.VisualParent; up is not null && up.LogicalIndex != LatticeParent; up = up.VisualParent)
        {
            if (_joints.Contains(up.LogicalIndex))
            {
                return _joints.Contains(LatticeParent);
            }
        }

        return false;
    }

    private void RestoreBindPose(GlbContainer file)
    {
        Skin? skin = _meshes
            .Where(m => m.IsSkinned)
            .Select(m => _model.LogicalNodes[m.Node].Skin)
            .FirstOrDefault(s => HeadJointIn(s) >= 0);
        if (skin is not null)
        {
            int head = HeadJointIn(skin);
            Matrix4x4 meshToScene = InverseBind(skin, head) * _pose.NodeToScene(skin.Joints[head]);
            GltfBindPose.Restore(
                file,
                GltfMeshReader.NodesInScene(_source, _model),
                _pose,
                Enumerable.Range(0, skin.JointsCount).ToDictionary(j => skin.Joints[j].LogicalIndex, j => InverseBind(skin, j)),
                meshToScene);
        }
    }

    private static Matrix4x4 InverseBind(Skin skin, int joint) =>
        skin.InverseBindMatrices is { Count: > 0 } matrices ? matrices[joint] : Matrix4x4.Identity;

    private int HeadJointIn(Skin skin)
    {
        for (int j = 0; j < skin.JointsCount; j++)
        {
            if (skin.Joints[j].LogicalIndex == LatticeParent)
            {
                return j;
            }
        }

        return -1;
    }

    // The joint with most weight on the face; without one, what the mesh with most of the face hangs on.
    private void ChooseParent(PlacementResult result)
    {
        var weights = new Dictionary<int, double>();
        var vertices = new Dictionary<int, double>();
        foreach (SourceMesh mesh in _meshes)
        {
            Node node = _model.LogicalNodes[mesh.Node];
            foreach (SourcePrimitive primitive in mesh.Primitives)
            {
                for (int v = 0; v < primitive.ScanVertices.Length; v++)
                {
                    int scanVertex = primitive.ScanVertices[v];
                    if (scanVertex < 0 || result.HeadMesh.Positions[scanVertex].Length() > FaceReach)
                    {
                        continue;
                    }

                    if (!mesh.IsSkinned && node.VisualParent is Node parent)
                    {
                        Count(vertices, parent.LogicalIndex, 1);
                    }

                    foreach ((int joint, double weight) in primitive.OldInfluences(v))
                    {
                        Count(weights, node.Skin.Joints[joint].LogicalIndex, weight);
                    }
                }
            }
        }

        Dictionary<int, double> votes = weights.Count > 0 ? weights : vertices;
        LatticeParent = votes.Count == 0 ? -1 : votes.OrderByDescending(w => w.Value).ThenBy(w => w.Key).First().Key;
    }

    private static void Count(Dictionary<int, double> sums, int key, double amount) =>
        sums[key] = sums.GetValueOrDefault(key) + amount;

    private SourceMesh? Read(Node node, ScanVertexLookup lookup)
    {
        var mesh = new SourceMesh(node.LogicalIndex, node.Skin is not null, []);
        foreach (MeshPrimitive primitive in node.Mesh.Primitives)
        {
            IReadOnlyDictionary<string, Accessor> attributes = primitive.VertexAccessors;
            if (!attributes.TryGetValue("POSITION", out Accessor? accessor))
            {
                return null;
            }

            Vector3[] positions = GltfAccessorData.Vectors(_source, accessor);
            GltfMorphTargets.Apply(_source, node, primitive, positions, GltfPose.Name(node));
            _pose.Apply(node, attributes, positions, GltfPose.Name(node));
            mesh.Primitives.Add(new SourcePrimitive(
                [.. positions.Select(lookup.Find)],
                mesh.IsSkinned ? Quadruples(attributes, "JOINTS_") : [],
                mesh.IsSkinned ? Quadruples(attributes, "WEIGHTS_") : []));
        }

        return mesh;
    }

    private List<float[]> Quadruples(IReadOnlyDictionary<string, Accessor> attributes, string prefix)
    {
        var sets = new List<float[]>();
        while (attributes.TryGetValue($"{prefix}{sets.Count}", out Accessor? accessor))
        {
            sets.Add(GltfAccessorData.Quadruples(_source, accessor));
        }

        return sets;
    }

    private sealed record SourceMesh(int Node, bool IsSkinned, List<SourcePrimitive> Primitives);

    /// <param name="ScanVertices">Vertex of the scan for each vertex, or -1.</param>
    /// <param name="JointSets">JOINTS_n.</param>
    /// <param name="WeightSets">WEIGHTS_n.</param>
    private sealed record SourcePrimitive(int[] ScanVertices, List<float[]> JointSets, List<float[]> WeightSets)
    {
        internal List<(int Joint, double Weight)> OldInfluences(int vertex)
        {
            var influences = new List<(int, double)>();
            for (int set = 0; set < Math.Min(JointSets.Count, WeightSets.Count); set++)
            {
                for (int i = 4 * vertex; i < 4 * (vertex + 1); i++)
                {
                    if (WeightSets[set][i] > 0)
                    {
                        influences.Add(((int)JointSets[set][i], WeightSets[set][i]));
                    }
                }
            }

            return influences;
        }
    }
}
