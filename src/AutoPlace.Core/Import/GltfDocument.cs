using System.Buffers.Binary;
using System.Text.Json;
using System.Text.Unicode;
using SharpGLTF.Schema2;
using SharpGLTF.Validation;

namespace AutoPlace.Import;

/// <summary>
/// Opens a glTF file: container, buffers, extensions. What geometry doesn't need (images, animations, extras,
/// extensions) is left out before the model is built, so that it can neither fail nor cost time.
/// </summary>
internal static class GltfDocument
{
    private const uint JsonChunk = 0x4E4F534A;
    private const uint BinaryChunk = 0x004E4942;
    private const int HeaderBytes = 12;
    private const int ChunkHeaderBytes = 8;

    /// <summary>Extensions that may be required since they don't touch geometry, by the beginning of their names.</summary>
    private static readonly string[] HarmlessPrefixes =
        ["KHR_materials_", "KHR_texture_", "EXT_texture_", "KHR_lights_", "KHR_xmp", "KHR_animation_", "KHR_mesh_quantization"];

    private static readonly string[] KeptProperties =
        ["asset", "scene", "scenes", "nodes", "meshes", "skins", "accessors", "bufferViews", "buffers", "materials"];

    /// <summary>Opens the file.</summary>
    /// <exception cref="MeshFormatException">
    /// Container or JSON is faulty, an extension is required that isn't known, a buffer is missing or lies outside the
    /// file's folder.
    /// </exception>
    public static ModelRoot Open(MeshSource source)
    {
        (ReadOnlyMemory<byte> json, ReadOnlyMemory<byte>? binary) = Contents(source);
        using JsonDocument document = Parse(source, json);
        JsonElement root = document.RootElement;
        if (root.ValueKind != JsonValueKind.Object || !root.TryGetProperty("asset", out _))
        {
            throw source.Fault(null, "JSON, but not glTF: no property 'asset'");
        }

        return Guarded(source, "JSON", () => Build(source, root, binary));
    }

    /// <summary>
    /// Runs a step of the library. It reports faulty files by its own exceptions, but also by those of the collections
    /// and numbers that it reads with.
    /// </summary>
    public static T Guarded<T>(MeshSource source, string? element, Func<T> step)
    {
        try
        {
            return step();
        }
        catch (Exception e) when (e is ModelException or JsonException or ArgumentException or FormatException
            or InvalidOperationException or IndexOutOfRangeException or NullReferenceException or KeyNotFoundException
            or OverflowException or NotSupportedException or NotImplementedException or InvalidCastException
            or ArithmeticException or IOException)
        {
            throw source.Fault(element, e.Message.ReplaceLineEndings(" "), e);
        }
    }

    private static ModelRoot Build(MeshSource source, JsonElement root, ReadOnlyMemory<byte>? binary)
    {
        CheckExtensions(source, root);
        GltfCompression.Check(source, root);
        GltfNodeTree.Check(source, root);
        var buffers = GltfBuffers.Load(source, root, binary);
        return ReadContext.CreateFromDictionary(buffers, checkExtensions: false)
            .WithSettingsFrom(ValidationMode.Skip)
            .ReadTextSchema2(new MemoryStream(Reduced(root)));
    }

    /// <summary>The JSON of a .glb or .gltf file, and its binary chunk if it has one.</summary>
    /// <exception cref="MeshFormatException">The container is faulty.</exception>
    internal static (ReadOnlyMemory<byte> Json, ReadOnlyMemory<byte>? Binary) Contents(MeshSource source)
    {
        if (source.Bytes.StartsWith("glTF"u8))
        {
            return Chunks(source);
        }

        return (source.Bytes is [0xEF, 0xBB, 0xBF, ..] ? source.Memory[3..] : source.Memory, null);
    }

    private static (ReadOnlyMemory<byte> Json, ReadOnlyMemory<byte>? Binary) Chunks(MeshSource source)
    {
        ReadOnlySpan<byte> bytes = source.Bytes;
        if (bytes.Length < HeaderBytes + ChunkHeaderBytes)
        {
            throw source.Fault("header", $"the file ends after {bytes.Length} bytes");
        }

        uint version = BinaryPrimitives.ReadUInt32LittleEndian(bytes[4..]);
        if (version != 2)
        {
            throw source.Fault("header", $"glTF version {version}; only version 2 can be read");
        }

        uint length = BinaryPrimitives.ReadUInt32LittleEndian(bytes[8..]);
        if (length > bytes.Length)
        {
            throw source.Fault("header", $"{length} bytes claimed, the file has {bytes.Length}");
        }

        ReadOnlyMemory<byte>? json = null;
        ReadOnlyMemory<byte>? binary = null;
        long position = HeaderBytes;
        for (int chunk = 0; position + ChunkHeaderBytes <= length; chunk++)
        {
            uint size = BinaryPrimitives.ReadUInt32LittleEndian(bytes[(int)position..]);
            uint kind = BinaryPrimitives.ReadUInt32LittleEndian(bytes[((int)position + 4)..]);
            position += ChunkHeaderBytes;
            if (position + size > bytes.Length)
            {
                throw source.Fault($"chunk {chunk}", $"{size} bytes claimed, {bytes.Length - position} left");
            }

            if (kind == JsonChunk)
            {
                json ??= source.Memory.Slice((int)position, (int)size);
            }
            else if (kind == BinaryChunk)
            {
                binary ??= source.Memory.Slice((int)position, (int)size);
            }

            position += size;
        }

        return (json ?? throw source.Fault(null, "no JSON chunk"), binary);
    }

    private static JsonDocument Parse(MeshSource source, ReadOnlyMemory<byte> json)
    {
        if (!Utf8.IsValid(json.Span))
        {
            throw source.Fault("JSON", "not valid UTF-8");
        }

        try
        {
            return JsonDocument.Parse(json);
        }
        catch (JsonException e)
        {
            throw source.Fault($"JSON line {e.LineNumber + 1}, byte {e.BytePositionInLine + 1}", "not valid JSON", e);
        }
    }

    private static void CheckExtensions(MeshSource source, JsonElement root)
    {
        if (!root.TryGetProperty("extensionsRequired", out JsonElement required)
            || required.ValueKind != JsonValueKind.Array)
        {
            return;
        }

        foreach (JsonElement item in required.EnumerateArray())
        {
            string name = item.ValueKind == JsonValueKind.String ? item.GetString()! : item.GetRawText();
            if (!Array.Exists(HarmlessPrefixes, p => name.StartsWith(p, StringComparison.Ordinal)))
            {
                string advice = name.Contains("compression", StringComparison.Ordinal)
                    ? $"; {GltfCompression.Advice}"
                    : "";
                throw source.Fault("extensionsRequired", $"{name} can't be read{advice}");
            }
        }
    }

    /// <summary>The JSON with what geometry needs, and buffers renamed to their keys.</summary>
    private static byte[] Reduced(JsonElement root)
    {
        using var stream = new MemoryStream();
        using (var writer = new Utf8JsonWriter(stream))
        {
            writer.WriteStartObject();
            foreach (JsonProperty property in root.EnumerateObject())
            {
                if (property.Name == "buffers")
                {
                    GltfBuffers.Write(writer, property.Value);
                }
                else if (property.Name == "materials")
                {
                    WriteMaterials(writer, property.Value);
                }
                else if (Array.IndexOf(KeptProperties, property.Name) >= 0)
                {
                    writer.WritePropertyName(property.Name);
                    WriteWithoutExtras(writer, property.Value);
                }
            }

            writer.WriteEndObject();
        }

        return stream.ToArray();
    }

    private static void WriteMaterials(Utf8JsonWriter writer, JsonElement materials)
    {
        writer.WriteStartArray("materials");
        foreach (JsonElement material in materials.EnumerateArray())
        {
            writer.WriteStartObject();
            if (material.TryGetProperty("name", out JsonElement name) && name.ValueKind == JsonValueKind.String)
            {
                writer.WriteString("name", name.GetString());
            }

            writer.WriteEndObject();
        }

        writer.WriteEndArray();
    }

    /// <summary>Depth is limited by the parser, to 64.</summary>
    private static void WriteWithoutExtras(Utf8JsonWriter writer, JsonElement value)
    {
        switch (value.ValueKind)
        {
            case JsonValueKind.Object:
                writer.WriteStartObject();
                foreach (JsonProperty property in value.EnumerateObject())
                {
                    if (property.Name is not ("extras" or "extensions"))
                    {
                        writer.WritePropertyName(property.Name);
                        WriteWithoutExtras(writer, property.Value);
                    }
                }

                writer.WriteEndObject();
                break;
            case JsonValueKind.Array:
                writer.WriteStartArray();
                foreach (JsonElement item in value.EnumerateArray())
                {
                    WriteWithoutExtras(writer, item);
                }

                writer.WriteEndArray();
                break;
            default:
                value.WriteTo(writer);
                break;
        }
    }
}
