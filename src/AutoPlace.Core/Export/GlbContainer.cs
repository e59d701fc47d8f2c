using System.Buffers;
using System.Buffers.Binary;
using System.Runtime.InteropServices;
using System.Text.Json;
using System.Text.Json.Nodes;
using AutoPlace.Import;

namespace AutoPlace.Export;

/// <summary>
/// A glTF 2.0 file as its JSON and one binary buffer, so that things can be added while all else stays as it is,
/// extensions and extras included.
/// </summary>
internal sealed class GlbContainer
{
    internal const int Float = 5126;
    internal const int UnsignedByte = 5121;
    internal const int UnsignedShort = 5123;
    internal const int UnsignedInt = 5125;

    /// <summary>Buffer view of vertex attributes.</summary>
    internal const int ArrayBuffer = 34962;

    /// <summary>Buffer view of triangle indices.</summary>
    internal const int ElementArrayBuffer = 34963;

    private const uint Magic = 0x46546C67;
    private const uint JsonChunk = 0x4E4F534A;
    private const uint BinaryChunk = 0x004E4942;
    private const int HeaderBytes = 12;
    private const int ChunkHeaderBytes = 8;
    private const int Alignment = 4;

    private readonly ArrayBufferWriter<byte> _binary = new();

    private GlbContainer(JsonObject root) => Root = root;

    /// <summary>The file's JSON; change it freely.</summary>
    internal JsonObject Root { get; }

    /// <summary>A file with nothing in it.</summary>
    internal static GlbContainer Empty() =>
        new(new JsonObject { ["asset"] = new JsonObject { ["version"] = "2.0", ["generator"] = "AutoPlace" } });

    /// <summary>Opens a .glb or .gltf file that the reader has accepted.</summary>
    /// <exception cref="MeshFormatException">Something is faulty that the reader passed over.</exception>
    internal static GlbContainer Open(MeshSource source)
    {
        (ReadOnlyMemory<byte> json, ReadOnlyMemory<byte>? binary) = GltfDocument.Contents(source);
        return GltfDocument.Guarded(source, "JSON", () =>
        {
            var container = new GlbContainer(JsonNode.Parse(json.Span)!.AsObject());
            container.GatherBuffers(binary ?? default, source.Options.OpenBeside);
            container.GatherImages(source.Options.OpenBeside);
            container.RemoveCompression();
            return container;
        });
    }

    /// <summary>A top-level list of the file; made when it isn't there.</summary>
    internal JsonArray List(string name)
    {
        if (Root[name] is not JsonArray list)
        {
            list = [];
            Root[name] = list;
        }

        return list;
    }

    /// <summary>Adds an element to a top-level list and returns its index.</summary>
    internal int Add(string list, JsonObject element)
    {
        JsonArray elements = List(list);
        elements.Add(element);
        return elements.Count - 1;
    }

    /// <summary>Adds values to the buffer and an accessor to them; returns the accessor's index.</summary>
    /// <param name="values">All components in order, tightly packed.</param>
    /// <param name="componentType">glTF's number of the component's type.</param>
    /// <param name="type">"SCALAR", "VEC3", "VEC4", "MAT4".</param>
    /// <param name="componentsPerElement">Components of one element.</param>
    /// <param name="target">What the buffer view is for, or null.</param>
    internal int AddAccessor<T>(ReadOnlySpan<T> values, int componentType, string type, int componentsPerElement, int? target)
        where T : unmanaged
    {
        var accessor = new JsonObject
        {
            ["bufferView"] = AddBufferView(MemoryMarshal.AsBytes(values), target),
            ["componentType"] = componentType,
            ["count"] = values.Length / componentsPerElement,
            ["type"] = type,
        };
        return Add("accessors", accessor);
    }

    /// <summary>Adds vertex positions with their bounds; returns the accessor's index.</summary>
    internal int AddPositions(ReadOnlySpan<float> positions)
    {
        int index = AddAccessor(positions, Float, "VEC3", 3, ArrayBuffer);
        (float[] low, float[] high) =
            ([float.MaxValue, float.MaxValue, float.MaxValue], [float.MinValue, float.MinValue, float.MinValue]);
        for (int i = 0; i < positions.Length; i++)
        {
            low[i % 3] = MathF.Min(low[i % 3], positions[i]);
            high[i % 3] = MathF.Max(high[i % 3], positions[i]);
        }

        JsonNode accessor = List("accessors")[index]!;
        accessor["min"] = new JsonArray(low[0], low[1], low[2]);
        accessor["max"] = new JsonArray(high[0], high[1], high[2]);
        return index;
    }

    /// <summary>Writes the file as GLB.</summary>
    internal void Write(Stream stream)
    {
        Pad(_binary, 0);
        Root["buffers"] = new JsonArray(new JsonObject { ["byteLength"] = _binary.WrittenCount });
        var json = new ArrayBufferWriter<byte>();
        using (var writer = new Utf8JsonWriter(json))
        {
            Root.WriteTo(writer);
        }

        Pad(json, (byte)' ');
        Span<byte> header = stackalloc byte[HeaderBytes];
        BinaryPrimitives.WriteUInt32LittleEndian(header, Magic);
        BinaryPrimitives.WriteUInt32LittleEndian(header[4..], 2);
        BinaryPrimitives.WriteUInt32LittleEndian(
            header[8..],
            checked((uint)(HeaderBytes + (2L * ChunkHeaderBytes) + json.WrittenCount + _binary.WrittenCount)));
        stream.Write(header);
        WriteChunk(stream, JsonChunk, json.WrittenSpan);
        WriteChunk(stream, BinaryChunk, _binary.WrittenSpan);
    }

    // All buffers become one; buffer views move along.
    private void GatherBuffers(ReadOnlyMemory<byte> binary, Func<string, Stream>? openBeside)
    {
        JsonArray buffers = List("buffers");
        long[] starts = new long[buffers.Count];
        for (int b = 0; b < starts.Length; b++)
        {
            Pad(_binary, 0);
            starts[b] = _binary.WrittenCount;
            ReadOnlyMemory<byte> content = (string?)buffers[b]!["uri"] is string uri ? Resolve(uri, openBeside) : binary;
            int length = Math.Min((int?)buffers[b]!["byteLength"] ?? content.Length, content.Length);
            _binary.Write(content.Span[..length]);
        }

        foreach (JsonNode? view in Root["bufferViews"] as JsonArray ?? [])
        {
            long start = starts[(int)view!["buffer"]!];
            view["buffer"] = 0;
            view["byteOffset"] = start + ((long?)view["byteOffset"] ?? 0);
        }
    }

    // Images beside the file move into it; one that isn't there stays a reference.
    private void GatherImages(Func<string, Stream>? openBeside)
    {
        foreach (JsonNode? image in Root["images"] as JsonArray ?? [])
        {
            if ((string?)image!["uri"] is not string uri || GltfBuffers.PathBelow(uri) is null || openBeside is null)
            {
                continue;
            }

            try
            {
                ReadOnlyMemory<byte> content = Resolve(uri, openBeside);
                image["mimeType"] = MediaType(content.Span);
                image["bufferView"] = AddBufferView(content.Span, null);
                image.AsObject().Remove("uri");
            }
            catch (Exception e) when (e is IOException or UnauthorizedAccessException)
            {
                continue;
            }
        }
    }

    // Accessors keep their plain numbers, which the compressed copy wouldn't fit any more once vertices have new joints.
    private void RemoveCompression()
    {
        foreach (JsonNode? mesh in Root["meshes"] as JsonArray ?? [])
        {
            foreach (JsonNode? primitive in mesh!["primitives"] as JsonArray ?? [])
            {
                RemoveExtensions(primitive!, name => name == GltfCompression.Draco);
            }
        }

        foreach (JsonNode? item in (Root["bufferViews"] as JsonArray ?? []).Concat(Root["buffers"] as JsonArray ?? []))
        {
            RemoveExtensions(item!, GltfCompression.IsOfBuffer);
        }

        if (Root["extensionsUsed"] is JsonArray used)
        {
            string?[] kept = [.. used.Select(e => (string?)e).Where(e => e != GltfCompression.Draco && !GltfCompression.IsOfBuffer(e!))];
            Root.Remove("extensionsUsed");
            if (kept.Length > 0)
            {
                Root["extensionsUsed"] = new JsonArray([.. kept.Select(e => (JsonNode?)e)]);
            }
        }
    }

    private static void RemoveExtensions(JsonNode element, Func<string, bool> unwanted)
    {
        if (element["extensions"] is not JsonObject extensions)
        {
            return;
        }

        foreach (string name in extensions.Select(e => e.Key).Where(unwanted).ToArray())
        {
            extensions.Remove(name);
        }

        if (extensions.Count == 0)
        {
            element.AsObject().Remove("extensions");
        }
    }

    // By the first bytes: PNG (ISO/IEC 15948, 5.2), WebP (RFC 9649, 2.4), KTX 2.0 (section 3.1); else JPEG, glTF's other format.
    private static string MediaType(ReadOnlySpan<byte> image) =>
        image.StartsWith((ReadOnlySpan<byte>)[0x89, 0x50, 0x4E, 0x47]) ? "image/png"
        : image.StartsWith("RIFF"u8) && image.Length >= 12 && image[8..].StartsWith("WEBP"u8) ? "image/webp"
        : image.StartsWith((ReadOnlySpan<byte>)[0xAB, 0x4B, 0x54, 0x58, 0x20, 0x32, 0x30, 0xBB]) ? "image/ktx2"
        : "image/jpeg";

    private static ReadOnlyMemory<byte> Resolve(string uri, Func<string, Stream>? openBeside)
    {
        if (uri.StartsWith("data:", StringComparison.OrdinalIgnoreCase))
        {
            return Convert.FromBase64String(uri[(uri.IndexOf(',', StringComparison.Ordinal) + 1)..]);
        }

        using Stream stream = openBeside!(GltfBuffers.PathBelow(uri)!);
        using var copy = new MemoryStream();
        stream.CopyTo(copy);
        return copy.ToArray();
    }

    private int AddBufferView(ReadOnlySpan<byte> bytes, int? target)
    {
        Pad(_binary, 0);
        var view = new JsonObject { ["buffer"] = 0, ["byteOffset"] = _binary.WrittenCount, ["byteLength"] = bytes.Length };
        if (target is int use)
        {
            view["target"] = use;
        }

        _binary.Write(bytes);
        return Add("bufferViews", view);
    }

    private static void Pad(ArrayBufferWriter<byte> content, byte filler)
    {
        while (content.WrittenCount % Alignment != 0)
        {
            content.Write([filler]);
        }
    }

    private static void WriteChunk(Stream stream, uint kind, ReadOnlySpan<byte> content)
    {
        Span<byte> header = stackalloc byte[ChunkHeaderBytes];
        BinaryPrimitives.WriteUInt32LittleEndian(header, (uint)content.Length);
        BinaryPrimitives.WriteUInt32LittleEndian(header[4..], kind);
        stream.Write(header);
        stream.Write(content);
    }
}
