using System.Numerics;
using AutoPlace.Geometry;
using SharpGLTF.Memory;
using SharpGLTF.Schema2;

namespace AutoPlace.TemplateBuilder.Cast.Files;

/// <summary>The skin of a whole figure in binary glTF.</summary>
internal static class GlbFigure
{
    private const int Influences = 4;

    /// <summary>Adds the joints below a node and the skin over them, in the pose that the figure is modelled in.</summary>
    public static Skin AddSkin(ModelRoot model, Node root, FigureSkin figure, FileForm form)
    {
        var nodes = new List<Node>();
        foreach (BodyJoint joint in figure.Joints)
        {
            Node node = (joint.Parent < 0 ? root : nodes[joint.Parent]).CreateNode(joint.Name);
            Vector3d at = form.ToFile(joint.Position) - (joint.Parent < 0 ? Vector3d.Zero : form.ToFile(figure.Joints[joint.Parent].Position));
            node.LocalMatrix = Matrix4x4.CreateTranslation((Vector3)at);
            nodes.Add(node);
        }

        Skin skin = model.CreateSkin(root.Name);
        skin.BindJoints([.. nodes.Select(node =>
        {
            Matrix4x4.Invert(node.WorldMatrix, out Matrix4x4 inverse);
            return (node, inverse);
        })]);
        return skin;
    }

    /// <summary>Adds joints and weights for each vertex of a primitive.</summary>
    public static void AddWeights(ModelRoot model, MeshPrimitive primitive, (int Joint, double Weight)[][] influences)
    {
        byte[] joints = new byte[influences.Length * Influences], weights = new byte[joints.Length];
        for (int v = 0; v < influences.Length; v++)
        {
            // Bytes that sum to 255: the first and largest weight takes what rounding leaves.
            int left = byte.MaxValue;
            for (int i = influences[v].Length - 1; i >= 0; i--)
            {
                int weight = i == 0 ? left : (int)Math.Round(influences[v][i].Weight * byte.MaxValue);
                joints[(v * Influences) + i] = (byte)(weight > 0 ? influences[v][i].Joint : 0);
                weights[(v * Influences) + i] = (byte)weight;
                left -= weight;
            }
        }

        Accessor jointAccessor = model.CreateAccessor();
        jointAccessor.SetVertexData(
            model.UseBufferView(joints, target: BufferMode.ARRAY_BUFFER),
            0, influences.Length, new AttributeFormat(DimensionType.VEC4, EncodingType.UNSIGNED_BYTE));
        primitive.SetVertexAccessor("JOINTS_0", jointAccessor);
        Accessor weightAccessor = model.CreateAccessor();
        weightAccessor.SetVertexData(
            model.UseBufferView(weights, target: BufferMode.ARRAY_BUFFER),
            0, influences.Length, new AttributeFormat(DimensionType.VEC4, EncodingType.UNSIGNED_BYTE, true));
        primitive.SetVertexAccessor("WEIGHTS_0", weightAccessor);
    }
}
