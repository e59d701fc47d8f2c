using System.Text.Json.Nodes;

namespace AutoPlace.Export;

/// <summary>Joints and weights as vertex attributes of a glTF primitive.</summary>
internal static class GltfInfluences
{
    /// <summary>Sets JOINTS_n and WEIGHTS_n; vertices without influences follow joint 0.</summary>
    /// <param name="file">The file.</param>
    /// <param name="attributes">The primitive's attributes.</param>
    /// <param name="influences">Influences by vertex, in whole sets of four; those that need fewer sets than others get empty places.</param>
    /// <param name="jointCount">Joints of the skin; decides between bytes and shorts.</param>
    internal static void Add(GlbContainer file, JsonObject attributes, VertexInfluences?[] influences, int jointCount)
    {
        int places = influences.Max(i => i?.Joints.Length) ?? VertexInfluences.Places;
        for (int set = 0; set < places / VertexInfluences.Places; set++)
        {
            int count = VertexInfluences.Places * influences.Length;
            ushort[] joints = new ushort[count];
            float[] shares = new float[count];
            for (int i = 0; i < count; i++)
            {
                int place = (VertexInfluences.Places * set) + (i % VertexInfluences.Places);
                VertexInfluences? vertex = influences[i / VertexInfluences.Places];
                (joints[i], shares[i]) = vertex is null ? ((ushort)0, place == 0 ? 1 : 0)
                    : place < vertex.Joints.Length ? ((ushort)vertex.Joints[place], vertex.Shares[place])
                    : ((ushort)0, 0);
            }

            attributes[$"JOINTS_{set}"] = jointCount > byte.MaxValue + 1
                ? file.AddAccessor<ushort>(joints, GlbContainer.UnsignedShort, "VEC4", 4, GlbContainer.ArrayBuffer)
                : file.AddAccessor<byte>([.. joints.Select(j => (byte)j)], GlbContainer.UnsignedByte, "VEC4", 4, GlbContainer.ArrayBuffer);
            attributes[$"WEIGHTS_{set}"] = file.AddAccessor<float>(shares, GlbContainer.Float, "VEC4", 4, GlbContainer.ArrayBuffer);
        }
    }
}
