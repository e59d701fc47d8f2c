using System.Numerics;
using SharpGLTF.Schema2;

namespace AutoPlace.Import;

/// <summary>The default pose of a glTF file: where each node is in scene coordinates, and what skins do with it.</summary>
internal sealed class GltfPose
{
    private const int JointsPerSet = 4;

    private readonly MeshSource _source;
    private readonly Matrix4x4[] _nodeToScene;
    private readonly Dictionary<int, Matrix4x4[]> _jointMatrices = [];

    private GltfPose(MeshSource source, Matrix4x4[] nodeToScene)
    {
        _source = source;
        _nodeToScene = nodeToScene;
    }

    /// <summary>Works out the transforms of all nodes, without recursion. The nodes are known to form trees.</summary>
    /// <exception cref="MeshFormatException">A transform isn't finite; the message names the node.</exception>
    public static GltfPose Of(MeshSource source, ModelRoot model)
    {
        var nodeToScene = new Matrix4x4[model.LogicalNodes.Count];
        var pose = new GltfPose(source, nodeToScene);
        var waiting = new Stack<(Node Node, Matrix4x4 ParentToScene)>();
        foreach (Node root in Roots(model))
        {
            waiting.Push((root, Matrix4x4.Identity));
        }

        while (waiting.TryPop(out (Node Node, Matrix4x4 ParentToScene) next))
        {
            Node node = next.Node;
            Matrix4x4 toScene = GltfDocument.Guarded(source, Name(node), () => node.LocalMatrix) * next.ParentToScene;
            if (!float.IsFinite(toScene.GetDeterminant()) || !float.IsFinite(toScene.Translation.LengthSquared()))
            {
                throw source.Fault(Name(node), "its transform is not finite");
            }

            nodeToScene[node.LogicalIndex] = toScene;
            foreach (Node child in node.VisualChildren)
            {
                waiting.Push((child, toScene));
            }
        }

        return pose;
    }

    /// <summary>Takes a node's own coordinates to the scene (row vectors).</summary>
    public Matrix4x4 NodeToScene(Node node) => _nodeToScene[node.LogicalIndex];

    /// <summary>Nodes that are no other node's child, in file order.</summary>
    public static List<Node> Roots(ModelRoot model)
    {
        bool[] isChild = new bool[model.LogicalNodes.Count];
        foreach (Node node in model.LogicalNodes)
        {
            foreach (Node child in node.VisualChildren)
            {
                isChild[child.LogicalIndex] = true;
            }
        }

        return [.. model.LogicalNodes.Where(n => !isChild[n.LogicalIndex])];
    }

    /// <summary>Name of a node in messages.</summary>
    public static string Name(Node node) => node.Name is null ? $"node {node.LogicalIndex}" : $"node {node.LogicalIndex} '{node.Name}'";

    /// <summary>Moves positions to scene coordinates: by the skin if node and vertices have one, else by the node.</summary>
    /// <param name="node">Node with the mesh.</param>
    /// <param name="attributes">Vertex attributes.</param>
    /// <param name="positions">Changed in place.</param>
    /// <param name="element">For messages.</param>
    /// <returns>Whether the surface comes out mirrored, so that the sense of triangles must be turned round.</returns>
    public bool Apply(Node node, IReadOnlyDictionary<string, Accessor> attributes, Span<Vector3> positions, string element)
    {
        Skin? skin = GltfDocument.Guarded(_source, element, () => node.Skin);
        if (skin is not null && attributes.ContainsKey("JOINTS_0") && attributes.ContainsKey("WEIGHTS_0"))
        {
            return ApplySkin(skin, attributes, positions, element);
        }

        Matrix4x4 toScene = _nodeToScene[node.LogicalIndex];
        foreach (ref Vector3 p in positions)
        {
            p = Vector3.Transform(p, toScene);
        }

        return toScene.GetDeterminant() < 0;
    }

    /// <summary>
    /// Linear blend skinning (glTF 2.0, section 3.7.3.3). Weights are divided by their sum; a vertex without any
    /// follows the first joint it names. The node's own transform doesn't count.
    /// </summary>
    private bool ApplySkin(
        Skin skin, IReadOnlyDictionary<string, Accessor> attributes, Span<Vector3> positions, string element)
    {
        Matrix4x4[] matrices = JointMatrices(skin);
        var sets = new List<(float[] Joints, float[] Weights)>();
        while (attributes.TryGetValue($"JOINTS_{sets.Count}", out Accessor? joints)
            && attributes.TryGetValue($"WEIGHTS_{sets.Count}", out Accessor? weights))
        {
            sets.Add((GltfAccessorData.Quadruples(_source, joints), GltfAccessorData.Quadruples(_source, weights)));
            if (sets[^1].Joints.Length < JointsPerSet * positions.Length
                || sets[^1].Weights.Length < JointsPerSet * positions.Length)
            {
                throw _source.Fault(element, $"fewer joints or weights than {positions.Length} vertices");
            }
        }

        int mirrored = 0;
        for (int v = 0; v < positions.Length; v++)
        {
            Matrix4x4 blend = Blend(matrices, sets, v, element);
            positions[v] = Vector3.Transform(positions[v], blend);
            mirrored += blend.GetDeterminant() < 0 ? 1 : -1;
        }

        return mirrored > 0;
    }

    private Matrix4x4 Blend(Matrix4x4[] matrices, List<(float[] Joints, float[] Weights)> sets, int vertex, string element)
    {
        var blend = default(Matrix4x4);
        float sum = 0;
        foreach ((float[] joints, float[] weights) in sets)
        {
            for (int i = JointsPerSet * vertex; i < JointsPerSet * (vertex + 1); i++)
            {
                if (weights[i] == 0)
                {
                    continue;
                }

                blend += Matrix(matrices, joints[i], vertex, element) * weights[i];
                sum += weights[i];
            }
        }

        return sum == 0
            ? Matrix(matrices, sets[0].Joints[JointsPerSet * vertex], vertex, element)
            : blend * (1 / sum);
    }

    private Matrix4x4 Matrix(Matrix4x4[] matrices, float joint, int vertex, string element) =>
        joint >= 0 && joint < matrices.Length
            ? matrices[(int)joint]
            : throw _source.Fault(element, $"vertex {vertex}: joint {joint} of {matrices.Length} joints");

    private Matrix4x4[] JointMatrices(Skin skin)
    {
        if (!_jointMatrices.TryGetValue(skin.LogicalIndex, out Matrix4x4[]? matrices))
        {
            string element = $"skin {skin.LogicalIndex}";
            matrices = GltfDocument.Guarded(_source, element, () =>
            {
                IReadOnlyList<Node> joints = skin.Joints;
                IReadOnlyList<Matrix4x4>? inverseBinds = skin.InverseBindMatrices;
                var result = new Matrix4x4[joints.Count];
                for (int j = 0; j < result.Length; j++)
                {
                    Matrix4x4 meshToJoint = inverseBinds is { Count: > 0 } ? inverseBinds[j] : Matrix4x4.Identity;
                    result[j] = meshToJoint * _nodeToScene[joints[j].LogicalIndex];
                }

                return result;
            });
            _jointMatrices.Add(skin.LogicalIndex, matrices);
        }

        return matrices;
    }
}
