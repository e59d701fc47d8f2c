using System.Numerics;
using System.Text.Json.Nodes;
using AutoPlace.Geometry;
using AutoPlace.Template;

namespace AutoPlace.Export;

/// <summary>The lattice as nodes and skins of a glTF file.</summary>
internal sealed class GltfLattice
{
    private readonly GlbContainer _file;
    private readonly IReadOnlyList<PlacedJoint> _joints;
    private readonly Dictionary<string, int> _skins = new(StringComparer.Ordinal);

    private GltfLattice(GlbContainer file, IReadOnlyList<PlacedJoint> joints, int firstNode)
    {
        _file = file;
        _joints = joints;
        FirstNode = firstNode;
    }

    /// <summary>Node of the first joint; the others follow.</summary>
    internal int FirstNode { get; }

    /// <summary>Number of joints.</summary>
    internal int Count => _joints.Count;

    /// <summary>Adds a node for each joint, parents first.</summary>
    /// <param name="file">The file.</param>
    /// <param name="joints">The joints, coordinates of the head's file.</param>
    /// <param name="parent">Node that roots become children of.</param>
    /// <param name="parentToFile">Where that node is in the coordinates of the head's file (row vectors).</param>
    internal static GltfLattice Add(GlbContainer file, IReadOnlyList<PlacedJoint> joints, int parent, Matrix4x4 parentToFile)
    {
        var lattice = new GltfLattice(file, joints, file.List("nodes").Count);
        Matrix4x4.Invert(parentToFile, out Matrix4x4 fileToParent);
        var nodes = new Dictionary<string, int>(StringComparer.Ordinal);
        foreach (PlacedJoint joint in joints)
        {
            var node = new JsonObject { ["name"] = joint.Name };
            int index = file.Add("nodes", node);
            nodes.Add(joint.Name, index);
            if (joint.Parent is string name)
            {
                SetPose(node, joint.LocalTranslation, joint.LocalRotation);
                AddChild(file, nodes[name], index);
            }
            else
            {
                SetRootPose(node, joint, fileToParent);
                AddChild(file, parent, index);
            }
        }

        return lattice;
    }

    /// <summary>Hangs a node below another.</summary>
    internal static void AddChild(GlbContainer file, int parent, int child)
    {
        JsonObject node = file.List("nodes")[parent]!.AsObject();
        if (node["children"] is not JsonArray children)
        {
            children = [];
            node["children"] = children;
        }

        children.Add(child);
    }

    /// <summary>
    /// A skin of the lattice's joints alone, for a mesh with given coordinates; made once for the same coordinates.
    /// </summary>
    /// <param name="meshToFile">Takes the mesh's vertices to the coordinates of the head's file (row vectors).</param>
    internal int SkinFor(Matrix4x4 meshToFile)
    {
        string key = meshToFile.ToString();
        if (!_skins.TryGetValue(key, out int skin))
        {
            float[] inverseBinds = new float[16 * Count];
            WriteInverseBinds(meshToFile, inverseBinds);
            skin = AddSkin("lattice", [.. Enumerable.Range(FirstNode, Count)], inverseBinds);
            _skins.Add(key, skin);
        }

        return skin;
    }

    /// <summary>Adds a skin.</summary>
    /// <param name="name">Its name.</param>
    /// <param name="nodes">Nodes of its joints.</param>
    /// <param name="inverseBinds">16 numbers for each joint.</param>
    internal int AddSkin(string name, int[] nodes, float[] inverseBinds) => _file.Add("skins", new JsonObject
    {
        ["name"] = name,
        ["joints"] = new JsonArray([.. nodes.Select(n => (JsonNode)n)]),
        ["inverseBindMatrices"] = _file.AddAccessor<float>(inverseBinds, GlbContainer.Float, "MAT4", 16, null),
    });

    /// <summary>
    /// Inverse bind matrices of all joints. glTF stores columns of matrices that act on column vectors, which are the
    /// rows of matrices that act on row vectors.
    /// </summary>
    /// <param name="meshToFile">Takes the mesh's vertices to the coordinates of the head's file (row vectors).</param>
    /// <param name="inverseBinds">Receives 16 numbers for each joint.</param>
    internal void WriteInverseBinds(Matrix4x4 meshToFile, Span<float> inverseBinds)
    {
        for (int j = 0; j < Count; j++)
        {
            Matrix3d axes = _joints[j].Rotation.Normalized().ToMatrix();
            Vector3d origin = axes.Transposed() * -_joints[j].Position;
            var fileToJoint = new Matrix4x4(
                (float)axes.Row0.X, (float)axes.Row0.Y, (float)axes.Row0.Z, 0,
                (float)axes.Row1.X, (float)axes.Row1.Y, (float)axes.Row1.Z, 0,
                (float)axes.Row2.X, (float)axes.Row2.Y, (float)axes.Row2.Z, 0,
                (float)origin.X, (float)origin.Y, (float)origin.Z, 1);
            WriteAffine(meshToFile * fileToJoint, inverseBinds.Slice(16 * j, 16));
        }
    }

    /// <summary>Writes a matrix in glTF's order, its last column exactly 0 0 0 1.</summary>
    internal static void WriteAffine(Matrix4x4 m, Span<float> numbers)
    {
        ReadOnlySpan<float> rows =
            [m.M11, m.M12, m.M13, 0, m.M21, m.M22, m.M23, 0, m.M31, m.M32, m.M33, 0, m.M41, m.M42, m.M43, 1];
        rows.CopyTo(numbers);
    }

    private static void SetPose(JsonObject node, Vector3d translation, Rotation3d rotation)
    {
        node["translation"] = new JsonArray((float)translation.X, (float)translation.Y, (float)translation.Z);
        node["rotation"] = Quaternion(rotation);
    }

    private static void SetRootPose(JsonObject node, PlacedJoint joint, Matrix4x4 fileToParent)
    {
        if (fileToParent.IsIdentity)
        {
            SetPose(node, joint.Position, joint.Rotation);
            return;
        }

        Rotation3d r = joint.Rotation.Normalized();
        Matrix4x4 jointToFile = Matrix4x4.CreateFromQuaternion(new Quaternion((float)r.X, (float)r.Y, (float)r.Z, (float)r.W));
        jointToFile.Translation = (Vector3)joint.Position;
        Matrix4x4.Decompose(jointToFile * fileToParent, out Vector3 scale, out Quaternion rotation, out Vector3 translation);
        node["translation"] = new JsonArray(translation.X, translation.Y, translation.Z);
        node["rotation"] = Quaternion(new Rotation3d(rotation.X, rotation.Y, rotation.Z, rotation.W));
        node["scale"] = new JsonArray(scale.X, scale.Y, scale.Z);
    }

    /// <summary>A unit quaternion as glTF wants it.</summary>
    internal static JsonArray Quaternion(Rotation3d rotation)
    {
        Rotation3d q = rotation.Normalized();
        return [(float)q.X, (float)q.Y, (float)q.Z, (float)q.W];
    }
}
