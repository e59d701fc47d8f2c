using System.Numerics;
using AutoPlace.Geometry;
using AutoPlace.Import;
using SharpGLTF.Schema2;

namespace AutoPlace.Template;

/// <summary>
/// Reads the rig of a glTF file in its default pose, scene coordinates: the joints of its skins in their order, or all plain
/// nodes where it has no skin. Other nodes without a mesh (aim targets, up markers, offsets between joints) come along;
/// those that only hold joints or meshes together don't.
/// </summary>
internal sealed class GltfRig
{
    /// <summary>Scale by which an axis may differ from 1 before that is said.</summary>
    private const double ScaleTolerance = 1e-4;

    private readonly MeshSource _source;
    private readonly GltfPose _pose;
    private readonly List<Node> _nodes;
    private readonly List<Node> _joints;
    private readonly Dictionary<int, Node> _parents = [];
    private readonly HashSet<int> _holdsMesh = [];
    private readonly HashSet<int> _holdsJoint = [];
    private readonly List<string> _notes = [];

    private GltfRig(MeshSource source)
    {
        _source = source;
        ModelRoot model = GltfDocument.Open(source);
        _pose = GltfPose.Of(source, model);
        _nodes = GltfMeshReader.NodesInScene(source, model);
        foreach (Node node in _nodes)
        {
            foreach (Node child in node.VisualChildren)
            {
                _parents[child.LogicalIndex] = node;
            }
        }

        _joints = [.. GltfDocument.Guarded(source, "skins", () => model.LogicalSkins.SelectMany(skin => skin.Joints).ToList())
            .DistinctBy(joint => joint.LogicalIndex)];
        Mark(_holdsJoint, _joints);
        Mark(_holdsMesh, _nodes.Where(HasMesh));
    }

    /// <summary>Reads the rig.</summary>
    /// <param name="file">Name of the file as the user gave it.</param>
    /// <param name="bytes">Its contents.</param>
    /// <param name="openBeside">Opens a file that it refers to, or null.</param>
    /// <exception cref="MeshFormatException">The file is faulty.</exception>
    /// <exception cref="TemplateFormatException">A joint has no name, or a rule for rigs is broken.</exception>
    public static Rig Read(string file, ReadOnlyMemory<byte> bytes, Func<string, Stream>? openBeside)
    {
        using var stream = new MemoryStream(bytes.ToArray());
        var rig = new GltfRig(MeshSource.Load(stream, file, new MeshReadOptions { OpenBeside = openBeside }));
        return RigRules.Checked(file, rig.Joints(file), rig._notes);
    }

    private List<RigJoint> Joints(string file)
    {
        bool skinned = _joints.Count > 0;
        var isJoint = _joints.Select(joint => joint.LogicalIndex).ToHashSet();
        List<Node> others = [.. _nodes.Where(node => !isJoint.Contains(node.LogicalIndex) && (skinned ? ComesAlong(node, isJoint) : IsPlainJoint(node)))];
        Node[] nameless = [.. others.Where(node => skinned && string.IsNullOrEmpty(node.Name))];
        if (nameless.Length > 0)
        {
            _notes.Add($"{nameless.Length} nodes without a name that are no joints were left out");
            others.RemoveAll(node => string.IsNullOrEmpty(node.Name));
        }

        List<Node> all = [.. _joints, .. others];
        var inRig = all.Select(node => node.LogicalIndex).ToHashSet();
        int scaled = all.Count(node => IsScaled(_pose.NodeToScene(node)));
        if (scaled > 0)
        {
            _notes.Add($"{scaled} nodes are scaled; positions and rotations are kept, scale isn't");
        }

        return [.. all.Select(node => Joint(file, node, inRig, !skinned || isJoint.Contains(node.LogicalIndex)))];
    }

    private RigJoint Joint(string file, Node node, HashSet<int> inRig, bool isJoint)
    {
        if (string.IsNullOrEmpty(node.Name))
        {
            throw new TemplateFormatException(file, GltfPose.Name(node), "has no name; joints are told apart by their names");
        }

        Node? parent = _parents.GetValueOrDefault(node.LogicalIndex);
        while (parent is not null && !inRig.Contains(parent.LogicalIndex))
        {
            parent = _parents.GetValueOrDefault(parent.LogicalIndex);
        }

        Matrix4x4 m = _pose.NodeToScene(node);
        return new RigJoint(node.Name, parent?.Name, (Vector3d)m.Translation, RotationOf(file, node, m), isJoint);
    }

    // The axes made square, the first one kept (Gram and Schmidt); a mirrored node has its third axis turned round.
    private static Rotation3d RotationOf(string file, Node node, Matrix4x4 m)
    {
        Vector3d x = new(m.M11, m.M12, m.M13), y = new(m.M21, m.M22, m.M23);
        Vector3d third = Vector3d.Cross(x, y);
        if (third.Length <= 1e-12 * x.Length * y.Length || x.Length == 0)
        {
            throw new TemplateFormatException(file, GltfPose.Name(node), "its axes have no length or fall together");
        }

        (Vector3d first, Vector3d last) = (x.Normalized(), third.Normalized());
        return Rotation3d.FromMatrix(Matrix3d.FromColumns(first, Vector3d.Cross(last, first), last));
    }

    // A node in a skinned file that is no joint: not one that holds joints or meshes together above the skeleton.
    private bool ComesAlong(Node node, HashSet<int> isJoint)
    {
        if (HasMesh(node))
        {
            return false;
        }

        for (Node? above = _parents.GetValueOrDefault(node.LogicalIndex); above is not null; above = _parents.GetValueOrDefault(above.LogicalIndex))
        {
            if (isJoint.Contains(above.LogicalIndex))
            {
                return true;
            }
        }

        return !_holdsJoint.Contains(node.LogicalIndex) && !_holdsMesh.Contains(node.LogicalIndex);
    }

    // In a file without skins: any node but a mesh, and but one at the top that is nowhere itself and holds all together.
    private bool IsPlainJoint(Node node) =>
        !HasMesh(node)
        && !(_holdsMesh.Contains(node.LogicalIndex) && !_parents.ContainsKey(node.LogicalIndex) && _pose.NodeToScene(node).IsIdentity);

    private void Mark(HashSet<int> holds, IEnumerable<Node> held)
    {
        foreach (Node node in held)
        {
            for (Node? above = _parents.GetValueOrDefault(node.LogicalIndex); above is not null && holds.Add(above.LogicalIndex);
                above = _parents.GetValueOrDefault(above.LogicalIndex))
            {
            }
        }
    }

    private bool HasMesh(Node node) => GltfDocument.Guarded(_source, GltfPose.Name(node), () => node.Mesh) is not null;

    private static bool IsScaled(Matrix4x4 m) =>
        Math.Abs(new Vector3(m.M11, m.M12, m.M13).Length() - 1) > ScaleTolerance
        || Math.Abs(new Vector3(m.M21, m.M22, m.M23).Length() - 1) > ScaleTolerance
        || Math.Abs(new Vector3(m.M31, m.M32, m.M33).Length() - 1) > ScaleTolerance
        || m.GetDeterminant() < 0;
}
