using System.Numerics;
using System.Text.Json.Nodes;
using AutoPlace.Conditioning;
using AutoPlace.Export;
using AutoPlace.Geometry;
using AutoPlace.Import;
using AutoPlace.Tests.Import;

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

    /// <summary>The character bent forward and turned aside in its default pose; bind pose and vertices are the same.</summary>
    internal static byte[] PosedCharacter()
    {
        JsonObject json = Json(Character(), out byte[] binary);
        JsonArray nodes = json["nodes"]!.AsArray();
        nodes[0]!["rotation"] = new JsonArray(MathF.Sin(0.1f), 0, 0, MathF.Cos(0.1f));
        nodes[1]!["rotation"] = new JsonArray(0, MathF.Sin(0.15f), 0, MathF.Cos(0.15f));
        nodes[2]!["translation"] = new JsonArray(0.1f, 0.9f, -0.2f);
        nodes[2]!["rotation"] = new JsonArray(0, 0, MathF.Sin(-0.05f), MathF.Cos(-0.05f));
        return Glb(json, binary);
    }

    /// <summary>Takes the head of the character to that of the posed one (row vectors).</summary>
    internal static Matrix4x4 BindToPose
    {
        get
        {
            Matrix4x4.Invert(HeadToScene(0, 0.1f, 0, new(0, 0.9f, 0)), out Matrix4x4 sceneToHead);
            return sceneToHead * HeadToScene(0.1f, 0.15f, -0.05f, new(0.1f, 0.9f, -0.2f));
        }
    }

    /// <summary>Where the posed character's head is.</summary>
    internal static HeadFrame PosedFrame
    {
        get
        {
            Vector3d Turned(Vector3d direction) => ((Vector3d)Vector3.TransformNormal((Vector3)direction, BindToPose)).Normalized();
            return new(
                (Vector3d)Vector3.Transform((Vector3)Frame.Origin, BindToPose),
                Turned(Frame.Left),
                Turned(Frame.Up),
                Turned(Frame.Front),
                Frame.InterocularDistance);
        }
    }

    /// <summary>
    /// The character with a morph target at half weight, an animation, a skin of its own for an eye, a mesh without name,
    /// a collar that hangs on the neck, a second scene, and a compressed copy of a mesh that nobody needs.
    /// </summary>
    internal static byte[] BusyCharacter()
    {
        using var stream = new MemoryStream(Character());
        GlbContainer file = GlbContainer.Open(MeshSource.Load(stream, "character.glb", new MeshReadOptions()));
        JsonArray meshes = file.List("meshes"), nodes = file.List("nodes");
        JsonObject face = meshes[0]!["primitives"]![0]!.AsObject();
        float[] raised = new float[3 * (int)file.List("accessors")[(int)face["attributes"]!["POSITION"]!]!["count"]!];
        for (int y = 1; y < raised.Length; y += 3)
        {
            raised[y] = 0.001f;
        }

        face["targets"] = new JsonArray(new JsonObject { ["POSITION"] = file.AddPositions(raised) });
        meshes[0]!["weights"] = new JsonArray(0.5f);
        face["extensions"] = new JsonObject
        {
            ["KHR_draco_mesh_compression"] = new JsonObject { ["bufferView"] = 0, ["attributes"] = new JsonObject { ["POSITION"] = 0 } },
        };
        file.Root["extensionsUsed"] = new JsonArray("KHR_draco_mesh_compression");
        meshes[2]!.AsObject().Remove("name");
        AddNodding(file);

        // The second eye's skin knows the same joints in another order.
        JsonObject skin = file.List("skins")[0]!.AsObject();
        float[] inverseBinds = new float[16];
        Matrix4x4.Invert(HeadToScene(0, 0.1f, 0, new(0, 0.9f, 0)), out Matrix4x4 sceneToHead);
        GltfLattice.WriteAffine(sceneToHead, inverseBinds);
        int eyeSkin = file.Add("skins", new JsonObject
        {
            ["joints"] = new JsonArray((int)skin["joints"]![2]!),
            ["inverseBindMatrices"] = file.AddAccessor<float>(inverseBinds, GlbContainer.Float, "MAT4", 16, null),
        });
        JsonObject eye = meshes[1]!["primitives"]![0]!["attributes"]!.AsObject();
        int eyeVertices = (int)file.List("accessors")[(int)eye["POSITION"]!]!["count"]!;
        GltfInfluences.Add(file, eye, [.. Enumerable.Repeat(VertexInfluences.Rigid(0), eyeVertices)], 1);
        nodes.Single(n => (string?)n!["name"] == "eyeball_left")!["skin"] = eyeSkin;

        int collar = AddPart(file, TestMeshes.Sphere(4, 5, new(0, -2.5f, -1)), "collar", NeckFromScene());
        GltfLattice.AddChild(file, 1, collar);
        int elsewhere = AddPart(file, SampleHead.Pieces()[1].Mesh, "elsewhere", Matrix4x4.Identity);
        file.Add("scenes", new JsonObject { ["nodes"] = new JsonArray(elsewhere) });
        file.Root["scene"] = 0;
        return Bytes(file);
    }

    internal static PlacementResult Place(byte[] glb, HeadFrame frame)
    {
        HeadScan scan = MeshReader.Read(new MemoryStream(glb), "sample.glb");
        return SampleHead.Result(frame, scan);
    }

    private static void AddNodding(GlbContainer file)
    {
        int times = file.AddAccessor<float>([0, 1], GlbContainer.Float, "SCALAR", 1, null);
        JsonNode accessor = file.List("accessors")[times]!;
        accessor["min"] = new JsonArray(0f);
        accessor["max"] = new JsonArray(1f);
        int turns = file.AddAccessor<float>(
            [0, 0, 0, 1, MathF.Sin(0.2f), 0, 0, MathF.Cos(0.2f)], GlbContainer.Float, "VEC4", 4, null);
        file.Add("animations", new JsonObject
        {
            ["name"] = "nodding",
            ["samplers"] = new JsonArray(new JsonObject { ["input"] = times, ["output"] = turns }),
            ["channels"] = new JsonArray(new JsonObject
            {
                ["sampler"] = 0,
                ["target"] = new JsonObject { ["node"] = 0, ["path"] = "rotation" },
            }),
        });
    }

    // The character's chain of joints: angles about x at the head, y at the neck and z at the hips.
    private static Matrix4x4 HeadToScene(float head, float neck, float hips, Vector3 hipsAt) =>
        Matrix4x4.CreateRotationX(2 * head) * Matrix4x4.CreateTranslation(0, 0.2f, 0)
        * Matrix4x4.CreateRotationY(2 * neck) * Matrix4x4.CreateTranslation(0, 0.5f, 0)
        * Matrix4x4.CreateRotationZ(2 * hips) * Matrix4x4.CreateTranslation(hipsAt);

    private static Matrix4x4 NeckFromScene()
    {
        Matrix4x4 neckToScene = Matrix4x4.CreateRotationY(0.2f) * Matrix4x4.CreateTranslation(0, 1.4f, 0);
        Matrix4x4.Invert(neckToScene, out Matrix4x4 sceneToNeck);
        return sceneToNeck;
    }

    private static JsonObject Json(byte[] glb, out byte[] binary)
    {
        int length = BitConverter.ToInt32(glb, 12);
        binary = glb[(20 + length + 8)..];
        return JsonNode.Parse(glb.AsSpan(20, length))!.AsObject();
    }

    private static byte[] Glb(JsonObject json, byte[] binary)
    {
        byte[] text = System.Text.Encoding.UTF8.GetBytes(json.ToJsonString());
        byte[] padded = [.. text, .. Enumerable.Repeat((byte)' ', (4 - (text.Length % 4)) % 4)];
        using var stream = new MemoryStream();
        using var writer = new BinaryWriter(stream);
        writer.Write("glTF"u8);
        writer.Write(2);
        writer.Write(12 + 8 + padded.Length + 8 + binary.Length);
        writer.Write(padded.Length);
        writer.Write("JSON"u8);
        writer.Write(padded);
        writer.Write(binary.Length);
        writer.Write("BIN\0"u8);
        writer.Write(binary);
        writer.Flush();
        return stream.ToArray();
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
