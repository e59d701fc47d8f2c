using System.Numerics;
using System.Text.Json.Nodes;
using AutoPlace.Import;
using AutoPlace.Template;
using SharpGLTF.Schema2;

namespace AutoPlace.Export;

/// <summary>
/// Puts a skin's joints back where they were when it was bound (glTF 2.0, section 3.7.3.1: there the joint's transform
/// is the inverse of its inverse bind matrix). The pose as a whole is laid so that the joint which carries the head stays
/// where it is: the head doesn't move, the body arranges itself below it.
/// </summary>
internal static class GltfBindPose
{
    /// <summary>Joints differ from their bind pose when a matrix does by more than this share of its largest number.</summary>
    private const float Tolerance = 1e-4f;

    /// <summary>Rewrites the poses of joints that are elsewhere; does nothing to a file that is in its bind pose.</summary>
    /// <param name="file">The file being written.</param>
    /// <param name="nodes">All nodes of the scene, parents first.</param>
    /// <param name="pose">Where they are.</param>
    /// <param name="inverseBinds">Inverse bind matrix by node of each joint.</param>
    /// <param name="meshToScene">Takes the skin's vertices in bind pose to the scene (row vectors).</param>
    internal static void Restore(
        GlbContainer file,
        IReadOnlyList<Node> nodes,
        GltfPose pose,
        Dictionary<int, Matrix4x4> inverseBinds,
        Matrix4x4 meshToScene)
    {
        var bound = new Dictionary<int, Matrix4x4>();
        foreach ((int node, Matrix4x4 meshToJoint) in inverseBinds)
        {
            if (!Matrix4x4.Invert(meshToJoint, out Matrix4x4 jointToMesh))
            {
                return;
            }

            bound.Add(node, jointToMesh * meshToScene);
        }

        if (!nodes.Any(n => bound.TryGetValue(n.LogicalIndex, out Matrix4x4 target) && Differ(target, pose.NodeToScene(n))))
        {
            return;
        }

        var toScene = new Dictionary<int, Matrix4x4>();
        foreach (Node node in nodes)
        {
            Matrix4x4 parent = node.VisualParent is Node up ? toScene[up.LogicalIndex] : Matrix4x4.Identity;
            Matrix4x4 local = node.LocalMatrix;
            if (bound.TryGetValue(node.LogicalIndex, out Matrix4x4 target) && Matrix4x4.Invert(parent, out Matrix4x4 toParent)
                && Differ(target * toParent, local)
                && Matrix4x4.Decompose(target * toParent, out Vector3 scale, out Quaternion rotation, out Vector3 translation))
            {
                SetPose(file.List("nodes")[node.LogicalIndex]!.AsObject(), translation, rotation, scale);
                local = Matrix4x4.CreateScale(scale) * Matrix4x4.CreateFromQuaternion(rotation) * Matrix4x4.CreateTranslation(translation);
            }

            toScene.Add(node.LogicalIndex, local * parent);
        }
    }

    private static bool Differ(Matrix4x4 a, Matrix4x4 b)
    {
        float largest = 0, difference = 0;
        for (int row = 0; row < 4; row++)
        {
            for (int column = 0; column < 3; column++)
            {
                largest = MathF.Max(largest, MathF.Max(MathF.Abs(a[row, column]), MathF.Abs(b[row, column])));
                difference = MathF.Max(difference, MathF.Abs(a[row, column] - b[row, column]));
            }
        }

        return difference > Tolerance * largest;
    }

    private static void SetPose(JsonObject node, Vector3 translation, Quaternion rotation, Vector3 scale)
    {
        node.Remove("matrix");
        node["translation"] = new JsonArray(translation.X, translation.Y, translation.Z);
        node["rotation"] = GltfLattice.Quaternion(new Rotation3d(rotation.X, rotation.Y, rotation.Z, rotation.W));
        node["scale"] = new JsonArray(scale.X, scale.Y, scale.Z);
    }
}
