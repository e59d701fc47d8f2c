using System.Text.Json;

namespace AutoPlace.Import;

/// <summary>
/// Buffers of a glTF file: the binary chunk, data URIs, and files below the folder of the file. Anything else
/// (absolute paths, "..", addresses) is refused before it is opened.
/// </summary>
internal static class GltfBuffers
{
    private const string Base64Mark = ";base64,";

    /// <summary>Loads all buffers under the keys that <see cref="Write"/> gives them.</summary>
    public static Dictionary<string, ArraySegment<byte>> Load(
        MeshSource source, JsonElement root, ReadOnlyMemory<byte>? binaryChunk)
    {
        var buffers = new Dictionary<string, ArraySegment<byte>>(StringComparer.Ordinal);
        if (!root.TryGetProperty("buffers", out JsonElement list) || list.ValueKind != JsonValueKind.Array)
        {
            return buffers;
        }

        int index = 0;
        foreach (JsonElement buffer in list.EnumerateArray())
        {
            string element = $"buffer {index}";
            byte[] bytes = LoadOne(source, element, buffer, index == 0 ? binaryChunk : null);
            if (buffer.TryGetProperty("byteLength", out JsonElement length) && length.TryGetInt64(out long claimed)
                && claimed > bytes.Length)
            {
                throw source.Fault(element, $"{claimed} bytes claimed, {bytes.Length} there");
            }

            buffers.Add(Key(index), bytes);
            index++;
        }

        return buffers;
    }

    /// <summary>Writes the property "buffers" with keys in place of addresses.</summary>
    public static void Write(Utf8JsonWriter writer, JsonElement list)
    {
        writer.WriteStartArray("buffers");
        int index = 0;
        foreach (JsonElement buffer in list.EnumerateArray())
        {
            writer.WriteStartObject();
            writer.WriteString("uri", Key(index++));
            if (buffer.TryGetProperty("byteLength", out JsonElement length))
            {
                writer.WritePropertyName("byteLength");
                length.WriteTo(writer);
            }

            writer.WriteEndObject();
        }

        writer.WriteEndArray();
    }

    private static string Key(int index) => $"buffer-{index}.bin";

    private static byte[] LoadOne(
        MeshSource source, string element, JsonElement buffer, ReadOnlyMemory<byte>? binaryChunk)
    {
        if (buffer.ValueKind != JsonValueKind.Object)
        {
            throw source.Fault(element, "not a JSON object");
        }

        if (!buffer.TryGetProperty("uri", out JsonElement uri) || uri.ValueKind != JsonValueKind.String)
        {
            return binaryChunk?.ToArray() ?? throw source.Fault(element, GltfCompression.OfBuffer(buffer) is string compression
                ? $"{compression} can't be read; {GltfCompression.Advice}"
                : "no data: neither address nor binary chunk");
        }

        string address = uri.GetString()!;
        if (address.StartsWith("data:", StringComparison.OrdinalIgnoreCase))
        {
            return Embedded(source, element, address);
        }

        string path = PathBelow(address)
            ?? throw source.Fault(element, $"'{address}' is not a file below the folder of this one");
        try
        {
            using Stream stream = source.Options.OpenBeside is null
                ? throw source.Fault(element, $"'{address}' is a file of its own; use a .glb file, which holds everything")
                : source.Options.OpenBeside(path);
            using var copy = new MemoryStream();
            stream.CopyTo(copy);
            byte[] bytes = copy.ToArray();
            source.HashBeside(bytes);
            return bytes;
        }
        catch (Exception e) when (e is IOException or UnauthorizedAccessException or NotSupportedException)
        {
            throw source.Fault(element, $"'{address}': {e.Message}", e);
        }
    }

    private static byte[] Embedded(MeshSource source, string element, string address)
    {
        int mark = address.IndexOf(Base64Mark, StringComparison.OrdinalIgnoreCase);
        try
        {
            return mark < 0
                ? throw source.Fault(element, "data URI that isn't base64")
                : Convert.FromBase64String(address[(mark + Base64Mark.Length)..]);
        }
        catch (FormatException e)
        {
            throw source.Fault(element, "data URI that isn't valid base64", e);
        }
    }

    /// <summary>A relative address as a path, or null when it leads out of the folder.</summary>
    public static string? PathBelow(string address)
    {
        string path = Uri.UnescapeDataString(address).Replace('\\', '/');
        bool outside = path.Length == 0 || path[0] == '/' || path.Contains('\0')
            || path.Contains(':') || Array.Exists(path.Split('/'), part => part.Trim() is ".." || part.Trim().Length == 0);
        return outside ? null : path;
    }
}
