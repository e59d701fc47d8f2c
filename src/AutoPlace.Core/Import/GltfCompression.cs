using System.Text.Json;

namespace AutoPlace.Import;

/// <summary>
/// Compressed meshes in a glTF file. An extension that a file requires is refused as such; here are files that only
/// use one, but hold nothing else for a mesh or buffer. Where they hold both, the plain numbers are read.
/// </summary>
internal static class GltfCompression
{
    /// <summary>Compression of a primitive's vertices and triangles.</summary>
    internal const string Draco = "KHR_draco_mesh_compression";

    // End of the names of extensions that compress buffer views.
    private const string BufferViewSuffix = "_meshopt_compression";

    /// <summary>What to do about a file whose meshes are compressed.</summary>
    internal const string Advice = "export without mesh compression";

    /// <summary>Throws when a primitive has its positions in compressed form alone.</summary>
    /// <exception cref="MeshFormatException">Names mesh and primitive.</exception>
    public static void Check(MeshSource source, JsonElement root)
    {
        int mesh = 0;
        foreach (JsonElement item in Items(root, "meshes"))
        {
            int number = 0;
            foreach (JsonElement primitive in Items(item, "primitives"))
            {
                if (Extension(primitive, name => name == Draco) is not null && !HasNumbers(root, primitive))
                {
                    throw source.Fault($"mesh {mesh}: primitive {number}", $"{Draco} can't be read; {Advice}");
                }

                number++;
            }

            mesh++;
        }
    }

    /// <summary>Name of the extension that compresses what would be in a buffer, or null.</summary>
    public static string? OfBuffer(JsonElement buffer) => Extension(buffer, IsOfBuffer);

    /// <summary>Whether an extension of this name compresses what would be in a buffer.</summary>
    public static bool IsOfBuffer(string extension) => extension.EndsWith(BufferViewSuffix, StringComparison.Ordinal);

    private static bool HasNumbers(JsonElement root, JsonElement primitive) =>
        primitive.TryGetProperty("attributes", out JsonElement attributes)
        && attributes.ValueKind == JsonValueKind.Object
        && attributes.TryGetProperty("POSITION", out JsonElement position)
        && position.ValueKind == JsonValueKind.Number
        && position.TryGetInt32(out int index)
        && Items(root, "accessors").ElementAtOrDefault(index) is { ValueKind: JsonValueKind.Object } accessor
        && accessor.TryGetProperty("bufferView", out _);

    private static JsonElement.ArrayEnumerator Items(JsonElement parent, string list) =>
        parent.ValueKind == JsonValueKind.Object && parent.TryGetProperty(list, out JsonElement items)
            && items.ValueKind == JsonValueKind.Array
            ? items.EnumerateArray()
            : default;

    private static string? Extension(JsonElement element, Func<string, bool> wanted) =>
        element.ValueKind == JsonValueKind.Object && element.TryGetProperty("extensions", out JsonElement extensions)
            && extensions.ValueKind == JsonValueKind.Object
            ? extensions.EnumerateObject().Select(e => e.Name).FirstOrDefault(wanted)
            : null;
}
