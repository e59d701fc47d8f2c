using System.Numerics;
using System.Runtime.InteropServices;
using AutoPlace.Geometry;
using SharpGLTF.Memory;
using SharpGLTF.Schema2;

namespace AutoPlace.TemplateBuilder.Cast.Files;

/// <summary>Writes puppets as binary glTF: one node, mesh and material for each part, with a skin for a whole figure.</summary>
internal static class GlbHeadFile
{
    /// <summary>Encodes a head or a figure.</summary>
    /// <param name="name">Name of the head.</param>
    /// <param name="mesh">All faces, atlas coordinates.</param>
    /// <param name="faceParts">Part of each face.</param>
    /// <param name="form">Unit and axes.</param>
    /// <param name="figure">What the figure hangs on, or null for a head alone.</param>
    public static byte[] Write(string name, PolygonMesh mesh, IReadOnlyList<string> faceParts, FileForm form, FigureSkin? figure)
    {
        ModelRoot model = ModelRoot.CreateModel();
        Node root = model.UseScene(name).CreateNode(name);
        if (form.ByNode)
        {
            root.LocalMatrix = ToFile(form);
        }

        PolygonMesh placed = form.ByNode ? mesh : mesh.WithPositions([.. mesh.Positions.ToArray().Select(p => (Vector3)form.ToFile(p))]);
        TriangleMesh all = placed.Triangulate(out int[] triangleFaces);
        Skin? skin = figure is null ? null : GlbFigure.AddSkin(model, root, figure, form);
        foreach (string part in faceParts.Distinct(StringComparer.Ordinal))
        {
            Material material = model.CreateMaterial(part);
            material.InitializePBRMetallicRoughness();
            MaterialChannel colour = material.FindChannel("BaseColor")!.Value;
            colour.Color = Colour(part);
            Node node = root.CreateNode(part);
            node.Mesh = model.CreateMesh(part);
            node.Skin = skin;
            MeshPrimitive primitive = node.Mesh.CreatePrimitive();
            primitive.Material = material;
            int[] vertices = AddPrimitive(model, primitive, all, t => faceParts[triangleFaces[t]] == part);
            if (figure is not null)
            {
                GlbFigure.AddWeights(model, primitive, [.. vertices.Select(v => figure.Weights(part, mesh.Positions[v]))]);
            }
        }

        model.Asset.Generator = "AutoPlace.TemplateBuilder";
        return model.WriteGLB().ToArray();
    }

    /// <summary>An accessor of vectors.</summary>
    public static Accessor Vectors(ModelRoot model, ReadOnlySpan<Vector3> vectors)
    {
        Accessor accessor = model.CreateAccessor();
        accessor.SetVertexData(
            model.UseBufferView(MemoryMarshal.AsBytes(vectors).ToArray(), target: BufferMode.ARRAY_BUFFER),
            0, vectors.Length, new AttributeFormat(DimensionType.VEC3, EncodingType.FLOAT));
        return accessor;
    }

    // Row vectors: the rows are where the axes go.
    private static Matrix4x4 ToFile(FileForm form)
    {
        double s = form.UnitsPerAtlasUnit;
        Vector3d x = form.Left * s, y = form.Up * s, z = form.Front * s, o = form.Origin;
        return new Matrix4x4(
            (float)x.X, (float)x.Y, (float)x.Z, 0, (float)y.X, (float)y.Y, (float)y.Z, 0,
            (float)z.X, (float)z.Y, (float)z.Z, 0, (float)o.X, (float)o.Y, (float)o.Z, 1);
    }

    // Returns the vertex of the whole mesh for each of the primitive.
    private static int[] AddPrimitive(ModelRoot model, MeshPrimitive primitive, TriangleMesh all, Func<int, bool> belongs)
    {
        var indices = new List<int>();
        var vertices = new List<int>();
        var renumbered = new Dictionary<int, int>();
        for (int t = 0; t < all.TriangleCount; t++)
        {
            if (belongs(t))
            {
                foreach (int corner in all.Indices.Slice(3 * t, 3))
                {
                    if (!renumbered.TryGetValue(corner, out int index))
                    {
                        index = vertices.Count;
                        renumbered.Add(corner, index);
                        vertices.Add(corner);
                    }

                    indices.Add(index);
                }
            }
        }

        var part = new TriangleMesh([.. vertices.Select(v => all.Positions[v])], [.. indices]);
        primitive.SetVertexAccessor("POSITION", Vectors(model, part.Positions));
        primitive.SetVertexAccessor("NORMAL", Vectors(model, VertexNormals.AngleWeighted(part)));
        primitive.SetIndexAccessor(Corners(model, indices, vertices.Count));
        primitive.DrawPrimitiveType = PrimitiveType.TRIANGLES;
        return [.. vertices];
    }

    // Two bytes are enough for fewer than 65,535 vertices; the last number is reserved.
    private static Accessor Corners(ModelRoot model, List<int> indices, int vertexCount)
    {
        bool isShort = vertexCount < ushort.MaxValue;
        byte[] bytes = isShort
            ? MemoryMarshal.AsBytes<ushort>(indices.Select(i => (ushort)i).ToArray()).ToArray()
            : MemoryMarshal.AsBytes(CollectionsMarshal.AsSpan(indices)).ToArray();
        Accessor corners = model.CreateAccessor();
        corners.SetIndexData(
            model.UseBufferView(bytes, target: BufferMode.ELEMENT_ARRAY_BUFFER),
            0, indices.Count, isShort ? IndexEncodingType.UNSIGNED_SHORT : IndexEncodingType.UNSIGNED_INT);
        return corners;
    }

    private static Vector4 Colour(string part) => part switch
    {
        "skin" => new(0.72f, 0.53f, 0.43f, 1),
        _ when part.StartsWith("eyeball", StringComparison.Ordinal) => new(0.92f, 0.92f, 0.9f, 1),
        _ => new(0.5f, 0.5f, 0.5f, 1),
    };
}
