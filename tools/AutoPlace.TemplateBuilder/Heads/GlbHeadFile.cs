using System.Numerics;
using System.Runtime.InteropServices;
using AutoPlace.Geometry;
using SharpGLTF.Memory;
using SharpGLTF.Schema2;

namespace AutoPlace.TemplateBuilder.Heads;

/// <summary>Writes heads as binary glTF: one node, mesh and material for each part.</summary>
internal static class GlbHeadFile
{
    /// <summary>Encodes a head.</summary>
    /// <param name="name">Name of the head.</param>
    /// <param name="mesh">All faces, in the file's coordinates.</param>
    /// <param name="faceParts">Part of each face.</param>
    public static byte[] Write(string name, PolygonMesh mesh, IReadOnlyList<string> faceParts)
    {
        ModelRoot model = ModelRoot.CreateModel();
        Node root = model.UseScene(name).CreateNode(name);
        TriangleMesh all = mesh.Triangulate(out int[] triangleFaces);
        foreach (string part in faceParts.Distinct(StringComparer.Ordinal))
        {
            Material material = model.CreateMaterial(part);
            material.InitializePBRMetallicRoughness();
            MaterialChannel colour = material.FindChannel("BaseColor")!.Value;
            colour.Color = Colour(part);
            Node node = root.CreateNode(part);
            node.Mesh = model.CreateMesh(part);
            AddPrimitive(model, node.Mesh.CreatePrimitive(), all, t => faceParts[triangleFaces[t]] == part).Material = material;
        }

        model.Asset.Generator = "AutoPlace.TemplateBuilder";
        return model.WriteGLB().ToArray();
    }

    private static MeshPrimitive AddPrimitive(ModelRoot model, MeshPrimitive primitive, TriangleMesh all, Func<int, bool> belongs)
    {
        var indices = new List<uint>();
        var positions = new List<Vector3>();
        var renumbered = new Dictionary<int, uint>();
        for (int t = 0; t < all.TriangleCount; t++)
        {
            if (belongs(t))
            {
                foreach (int corner in all.Indices.Slice(3 * t, 3))
                {
                    if (!renumbered.TryGetValue(corner, out uint index))
                    {
                        index = (uint)positions.Count;
                        renumbered.Add(corner, index);
                        positions.Add(all.Positions[corner]);
                    }

                    indices.Add(index);
                }
            }
        }

        var part = new TriangleMesh([.. positions], [.. indices.Select(index => (int)index)]);
        primitive.SetVertexAccessor("POSITION", Vectors(model, CollectionsMarshal.AsSpan(positions)));
        primitive.SetVertexAccessor("NORMAL", Vectors(model, VertexNormals.AngleWeighted(part)));
        Accessor corners = model.CreateAccessor();
        corners.SetIndexData(
            model.UseBufferView(MemoryMarshal.AsBytes(CollectionsMarshal.AsSpan(indices)).ToArray(), target: BufferMode.ELEMENT_ARRAY_BUFFER),
            0, indices.Count, IndexEncodingType.UNSIGNED_INT);
        primitive.SetIndexAccessor(corners);
        primitive.DrawPrimitiveType = PrimitiveType.TRIANGLES;
        return primitive;
    }

    private static Accessor Vectors(ModelRoot model, ReadOnlySpan<Vector3> vectors)
    {
        Accessor accessor = model.CreateAccessor();
        accessor.SetVertexData(
            model.UseBufferView(MemoryMarshal.AsBytes(vectors).ToArray(), target: BufferMode.ARRAY_BUFFER),
            0, vectors.Length, new AttributeFormat(DimensionType.VEC3, EncodingType.FLOAT));
        return accessor;
    }

    private static Vector4 Colour(string part) => part switch
    {
        "skin" => new(0.72f, 0.53f, 0.43f, 1),
        _ when part.StartsWith("eyeball", StringComparison.Ordinal) => new(0.92f, 0.92f, 0.9f, 1),
        _ => new(0.5f, 0.5f, 0.5f, 1),
    };
}
