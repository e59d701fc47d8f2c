using System.Numerics;
using SharpGLTF.Schema2;

namespace AutoPlace.Import;

/// <summary>
/// Reads the triangles of a glTF 2.0 file in scene coordinates: the default scene, or the first, or all root nodes;
/// node transforms, default morph weights and the default pose of skins applied. Points and lines are passed over.
/// Compressed meshes (Draco, meshopt) are refused.
/// </summary>
internal static class GltfMeshReader
{
    /// <summary>Reads the file.</summary>
    /// <exception cref="MeshFormatException">Something is faulty; the message names node, mesh or accessor.</exception>
    public static HeadScan Read(MeshSource source)
    {
        ModelRoot model = GltfDocument.Open(source);
        var builder = new ScanBuilder(source, MeshFormat.Gltf);
        var poses = GltfPose.Of(source, model);
        foreach (Node node in NodesInScene(source, model))
        {
            Mesh? mesh = GltfDocument.Guarded(source, GltfPose.Name(node), () => node.Mesh);
            if (mesh is not null)
            {
                new Instance(source, builder, poses, node, mesh).Read();
            }
        }

        return builder.Build(Welding.All, Pairing.Always);
    }

    /// <summary>Nodes of the scene, parents before children, in file order. The nodes are known to form trees.</summary>
    internal static List<Node> NodesInScene(MeshSource source, ModelRoot model)
    {
        Scene? scene = GltfDocument.Guarded(source, "scene", () => model.DefaultScene);
        List<Node> roots = scene is null
            ? GltfPose.Roots(model)
            : GltfDocument.Guarded(source, $"scene {scene.LogicalIndex}", () => scene.VisualChildren.ToList());
        var nodes = new List<Node>();
        var seen = new HashSet<int>();
        var waiting = new Stack<Node>();
        for (int r = roots.Count - 1; r >= 0; r--)
        {
            waiting.Push(roots[r]);
        }

        while (waiting.TryPop(out Node? node))
        {
            if (!seen.Add(node.LogicalIndex))
            {
                continue;
            }

            nodes.Add(node);
            foreach (Node child in node.VisualChildren.Reverse())
            {
                waiting.Push(child);
            }
        }

        return nodes;
    }

    /// <summary>One mesh at one node.</summary>
    private sealed class Instance(MeshSource source, ScanBuilder builder, GltfPose poses, Node node, Mesh mesh)
    {
        // Primitives of a mesh often share their vertices.
        private readonly Dictionary<(int Position, int Joints, int Weights), (int First, int Count, bool Mirrored)> _shared = [];
        private readonly string _element = GltfPose.Name(node);

        public void Read()
        {
            for (int p = 0; p < mesh.Primitives.Count; p++)
            {
                MeshPrimitive primitive = mesh.Primitives[p];
                if (primitive.DrawPrimitiveType is PrimitiveType.TRIANGLES or PrimitiveType.TRIANGLE_STRIP
                    or PrimitiveType.TRIANGLE_FAN)
                {
                    ReadPrimitive(primitive, $"{_element}: mesh {mesh.LogicalIndex}: primitive {p}");
                }
            }
        }

        private void ReadPrimitive(MeshPrimitive primitive, string element)
        {
            (int first, int count, bool mirrored) = AddVertices(primitive, element);
            Material? material = GltfDocument.Guarded(source, element, () => primitive.Material);
            string? materialName = material is null ? null : material.Name ?? $"material_{material.LogicalIndex}";
            string name = node.Name ?? mesh.Name ?? $"node_{node.LogicalIndex}";
            int part = builder.Part(node.LogicalIndex, name, materialName);
            Accessor? accessor = GltfDocument.Guarded(source, element, () => primitive.IndexAccessor);
            uint[]? indices = accessor is null ? null : GltfAccessorData.Indices(source, accessor);
            int corners = indices?.Length ?? count;
            if (primitive.DrawPrimitiveType == PrimitiveType.TRIANGLES && corners % 3 != 0)
            {
                throw source.Fault(element, $"{corners} corners are not a multiple of three");
            }

            int triangles = primitive.DrawPrimitiveType == PrimitiveType.TRIANGLES ? corners / 3 : corners - 2;
            for (int t = 0; t < triangles; t++)
            {
                (int a, int b, int c) = Corners(primitive.DrawPrimitiveType, t);
                a = Vertex(indices, a, count, element);
                b = Vertex(indices, b, count, element);
                c = Vertex(indices, c, count, element);
                bool stripJoint = primitive.DrawPrimitiveType == PrimitiveType.TRIANGLE_STRIP && (a == b || b == c || c == a);
                if (!stripJoint)
                {
                    builder.AddFace(mirrored ? [first + a, first + c, first + b] : [first + a, first + b, first + c], part);
                }
            }
        }

        /// <summary>Which corners make triangle t (glTF 2.0, section 3.7.2.1).</summary>
        private static (int A, int B, int C) Corners(PrimitiveType type, int t) => type switch
        {
            PrimitiveType.TRIANGLES => (3 * t, (3 * t) + 1, (3 * t) + 2),
            PrimitiveType.TRIANGLE_STRIP => (t, t + 1 + (t % 2), t + 2 - (t % 2)),
            _ => (t + 1, t + 2, 0),
        };

        private int Vertex(uint[]? indices, int corner, int count, string element)
        {
            uint vertex = indices is null ? (uint)corner : indices[corner];
            return vertex < (uint)count
                ? (int)vertex
                : throw source.Fault(element, $"corner {corner}: index {vertex} of {count} vertices");
        }

        private (int First, int Count, bool Mirrored) AddVertices(MeshPrimitive primitive, string element)
        {
            // A copy, since the library looks accessors up only when asked.
            Dictionary<string, Accessor> attributes =
                GltfDocument.Guarded(source, element, () => primitive.VertexAccessors.ToDictionary());
            if (!attributes.TryGetValue("POSITION", out Accessor? accessor))
            {
                throw source.Fault(element, "no attribute POSITION");
            }

            var key = (
                accessor.LogicalIndex,
                attributes.GetValueOrDefault("JOINTS_0")?.LogicalIndex ?? -1,
                attributes.GetValueOrDefault("WEIGHTS_0")?.LogicalIndex ?? -1);
            if (primitive.MorphTargetsCount == 0 && _shared.TryGetValue(key, out var shared))
            {
                return shared;
            }

            Vector3[] positions = GltfAccessorData.Vectors(source, accessor);
            GltfMorphTargets.Apply(source, node, primitive, positions, element);
            bool mirrored = poses.Apply(node, attributes, positions, element);
            int first = builder.VertexCount;
            builder.Reserve(positions.Length, 0, 0);
            for (int v = 0; v < positions.Length; v++)
            {
                if (!builder.TryAddVertex(positions[v]))
                {
                    throw source.Fault(element, $"vertex {v}: position {positions[v]} is not finite");
                }
            }

            _shared.TryAdd(key, (first, positions.Length, mirrored));
            return (first, positions.Length, mirrored);
        }
    }
}
