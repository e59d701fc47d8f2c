using System.Numerics;
using System.Text.Json.Nodes;
using AutoPlace.Conditioning;
using AutoPlace.Export;
using AutoPlace.Geometry;
using AutoPlace.Import;

namespace AutoPlace.Tests.Export;

/// <summary>The sample head as a glTF file: in a node of its own, or as the head of a character with a skin.</summary>
internal static class SampleGltf
{
    /// <summary>Where the head is in the scene: metres, Y up, +Z front, eyes at 1.6 m.</summary>
    internal static readonly HeadFrame Frame =
        new(new(0, 1.6, 0.1), Vector3d.UnitX, Vector3d.UnitY, Vector3d.UnitZ, 0.063);

    // The nodes' own coordinates differ from the scene's by a turn, a scale and a shift.
    private static readonly Matrix4x4 HolderToScene = Matrix4x4.CreateScale(0.5f)
        * Matrix4x4.CreateFromQuaternion(Quaternion.CreateFromAxisAngle(Vector3.UnitY, 0.7f))
        * Matrix4x4.CreateTranslation(0.2f, 1, -0.3f);

    /// <summary>A file with a holder node, the parts below it, and things that nobody may touch.</summary>
    internal static byte[] Plain()
    {
        GlbContainer file = GlbContainer.Empty();
        file.Root["asset"]!["extras"] = new JsonObject { ["note"] = "keep me" };
        var children = new JsonArray();
        Matrix4x4.Invert(HolderToScene, out Matrix4x4 sceneToHolder);
        foreach ((PolygonMesh mesh, string name) in SampleHead.Pieces())
        {
            children.Add(AddPart(file, mesh, name, sceneToHolder));
        }

        int holder = file.Add("nodes", new JsonObject
        {
            ["name"] = "holder",
            ["children"] = children,
            ["scale"] = new JsonArray(0.5f, 0.5f, 0.5f),
            ["rotation"] = new JsonArray(0, MathF.Sin(0.35f), 0, MathF.Cos(0.35f)),
            ["translation"] = new JsonArray(0.2f, 1, -0.3f),
        });
        file.Add("scenes", new JsonObject { ["nodes"] = new JsonArray(holder) });
        file.Root["scene"] = 0;
        return Bytes(file);
    }

    /// <summary>A character: joints hips, neck and head; the face follows the head, below the chin more and more the neck.</summary>
    internal static byte[] Character()
    {
        GlbContainer file = GlbContainer.Empty();
        int head = file.Add("nodes", new JsonObject { ["name"] = "head_joint", ["translation"] = new JsonArray(0, 0.2f, 0) });
        int neck = file.Add("nodes", new JsonObject
        {
            ["name"] = "neck_joint",
            ["translation"] = new JsonArray(0, 0.5f, 0),
            ["rotation"] = new JsonArray(0, MathF.Sin(0.1f), 0, MathF.Cos(0.1f)),
            ["children"] = new JsonArray(head),
        });
        int hips = file.Add("nodes", new JsonObject
        {
            ["name"] = "hips_joint",
            ["translation"] = new JsonArray(0, 0.9f, 0),
            ["children"] = new JsonArray(neck),
        });
        Matrix4x4 hipsToScene = Matrix4x4.CreateTranslation(0, 0.9f, 0);
        Matrix4x4 neckToScene = Matrix4x4.CreateFromQuaternion(new(0, MathF.Sin(0.1f), 0, MathF.Cos(0.1f)))
            * Matrix4x4.CreateTranslation(0, 0.5f, 0) * hipsToScene;
        Matrix4x4 headToScene = Matrix4x4.CreateTranslation(0, 0.2f, 0) * neckToScene;
        float[] inverseBinds = new float[48];
        Matrix4x4[] toScene = [hipsToScene, neckToScene, headToScene];
        for (int j = 0; j < 3; j++)
        {
            Matrix4x4.Invert(toScene[j], out Matrix4x4 inverse);
            GltfLattice.WriteAffine(inverse, inverseBinds.AsSpan(16 * j, 16));
        }

        int skin = file.Add("skins", new JsonObject
        {
            ["joints"] = new JsonArray(hips, neck, head),
            ["inverseBindMatrices"] = file.AddAccessor<float>(inverseBinds, GlbContainer.Float, "MAT4", 16, null),
        });
        var roots = new JsonArray(hips);
        foreach ((PolygonMesh mesh, string name) in SampleHead.Pieces())
        {
            int node = AddPart(file, mesh, name, Matrix4x4.Identity);
            file.List("nodes")[node]!["skin"] = skin;
            JsonObject attributes = file.List("meshes")[^1]!["primitives"]![0]!["attributes"]!.AsObject();
            GltfInfluences.Add(file, attributes, [.. mesh.Positions.ToArray().Select(p => BodyInfluences(p.Y))], 3);
            roots.Add(node);
        }

        file.Add("scenes", new JsonObject { ["nodes"] = roots });
        return Bytes(file);
    }

    /// <summary>Share of the neck at a height in the head frame.</summary>
    internal static float NeckShare(float y) => Math.Clamp((-1.5f - y) / 0.8f, 0, 1);

    internal static PlacementResult Place(byte[] glb)
    {
        HeadScan scan = MeshReader.Read(new MemoryStream(glb), "sample.glb");
        return SampleHead.Result(Frame, scan);
    }

    private static VertexInfluences BodyInfluences(float y)
    {
        float neck = NeckShare(y);
        return new VertexInfluences([2, neck > 0 ? 1 : 0, 0, 0], [1 - neck, neck, 0, 0]);
    }

    private static int AddPart(GlbContainer file, PolygonMesh mesh, string name, Matrix4x4 sceneToNode)
    {
        float[] positions = new float[3 * mesh.VertexCount];
        for (int v = 0; v < mesh.VertexCount; v++)
        {
            Vector3.Transform((Vector3)Frame.ToFile(mesh.Positions[v]), sceneToNode).CopyTo(positions, 3 * v);
        }

        uint[] indices = [.. mesh.Triangulate(out _).Indices.ToArray().Select(i => (uint)i)];
        int index = file.Add("meshes", new JsonObject
        {
            ["name"] = name,
            ["primitives"] = new JsonArray(new JsonObject
            {
                ["attributes"] = new JsonObject { ["POSITION"] = file.AddPositions(positions) },
                ["indices"] = file.AddAccessor<uint>(indices, GlbContainer.UnsignedInt, "SCALAR", 1, GlbContainer.ElementArrayBuffer),
            }),
        });
        return file.Add("nodes", new JsonObject { ["name"] = name, ["mesh"] = index });
    }

    private static byte[] Bytes(GlbContainer file)
    {
        using var stream = new MemoryStream();
        file.Write(stream);
        return stream.ToArray();
    }
}
