using System.Numerics;
using System.Runtime.InteropServices;
using System.Text;
using System.Text.Json.Nodes;

namespace AutoPlace.Tests.Import;

/// <summary>
/// Puts a glTF file together: accessors are added to one buffer, the rest of the JSON is free, so that tests can break
/// it anywhere.
/// </summary>
internal sealed class GlbFile
{
    public const int Float = 5126;
    public const int UnsignedByte = 5121;
    public const int UnsignedShort = 5123;
    public const int UnsignedInt = 5125;

    private readonly List<byte> _buffer = [];

    /// <summary>The JSON; lists are made as they are needed.</summary>
    public JsonObject Json { get; } = new() { ["asset"] = new JsonObject { ["version"] = "2.0" } };

    /// <summary>Bytes of the buffer.</summary>
    public byte[] Buffer => [.. _buffer];

    /// <summary>Adds an item to a list of the root and returns its index.</summary>
    public int Add(string list, JsonNode item)
    {
        if (Json[list] is not JsonArray array)
        {
            array = [];
            Json[list] = array;
        }

        array.Add(item);
        return array.Count - 1;
    }

    public int Accessor<T>(ReadOnlySpan<T> items, int componentType, string type, bool normalized = false)
        where T : unmanaged
    {
        int view = View(items);
        return Add("accessors", new JsonObject
        {
            ["bufferView"] = view,
            ["componentType"] = componentType,
            ["count"] = items.Length,
            ["type"] = type,
            ["normalized"] = normalized,
        });
    }

    public int View<T>(ReadOnlySpan<T> items)
        where T : unmanaged
    {
        while (_buffer.Count % 4 != 0)
        {
            _buffer.Add(0);
        }

        ReadOnlySpan<byte> bytes = MemoryMarshal.AsBytes(items);
        int offset = _buffer.Count;
        _buffer.AddRange(bytes);
        return Add("bufferViews", new JsonObject
        {
            ["buffer"] = 0,
            ["byteOffset"] = offset,
            ["byteLength"] = bytes.Length,
        });
    }

    public int Positions(params ReadOnlySpan<Vector3> positions) => Accessor(positions, Float, "VEC3");

    public int Indices(params ReadOnlySpan<uint> indices) => Accessor(indices, UnsignedInt, "SCALAR");

    /// <summary>A mesh with one primitive of triangles.</summary>
    public int Mesh(ReadOnlySpan<Vector3> positions, ReadOnlySpan<uint> indices, int mode = 4) => Add("meshes", new JsonObject
    {
        ["primitives"] = new JsonArray(Primitive(Positions(positions), Indices(indices), mode)),
    });

    public static JsonObject Primitive(int positions, int? indices, int mode = 4, int? material = null)
    {
        var primitive = new JsonObject { ["attributes"] = new JsonObject { ["POSITION"] = positions }, ["mode"] = mode };
        if (indices is not null)
        {
            primitive["indices"] = indices;
        }

        if (material is not null)
        {
            primitive["material"] = material;
        }

        return primitive;
    }

    /// <summary>A node; with <paramref name="root"/> it goes into the one scene.</summary>
    public int Node(JsonObject node, bool root = true)
    {
        int index = Add("nodes", node);
        if (root)
        {
            if (Json["scenes"] is null)
            {
                Add("scenes", new JsonObject { ["nodes"] = new JsonArray() });
                Json["scene"] = 0;
            }

            Json["scenes"]![0]!["nodes"]!.AsArray().Add(index);
        }

        return index;
    }

    public byte[] ToBytes()
    {
        byte[] binary = Padded([.. _buffer], 0);
        if (Json["buffers"] is null && binary.Length > 0)
        {
            Add("buffers", new JsonObject { ["byteLength"] = binary.Length });
        }

        byte[] json = Padded(Encoding.UTF8.GetBytes(Json.ToJsonString()), (byte)' ');
        using var stream = new MemoryStream();
        using var writer = new BinaryWriter(stream);
        writer.Write("glTF"u8);
        writer.Write(2);
        writer.Write(12 + 8 + json.Length + (binary.Length == 0 ? 0 : 8 + binary.Length));
        writer.Write(json.Length);
        writer.Write("JSON"u8);
        writer.Write(json);
        if (binary.Length > 0)
        {
            writer.Write(binary.Length);
            writer.Write("BIN\0"u8);
            writer.Write(binary);
        }

        writer.Flush();
        return stream.ToArray();
    }

    private static byte[] Padded(byte[] bytes, byte filler)
    {
        byte[] padded = new byte[(bytes.Length + 3) / 4 * 4];
        Array.Fill(padded, filler);
        bytes.CopyTo(padded, 0);
        return padded;
    }
}
