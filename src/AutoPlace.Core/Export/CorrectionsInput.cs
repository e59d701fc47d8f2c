using System.Text.Json;

namespace AutoPlace.Export;

/// <summary>Reads what a person corrected, whichever way: a corrections.json, or a placement.json that was corrected elsewhere.</summary>
public static class CorrectionsInput
{
    /// <summary>Options with what a file says.</summary>
    /// <param name="options">The options.</param>
    /// <param name="bytes">Contents of the file, UTF-8.</param>
    /// <param name="file">Its name, for messages.</param>
    /// <exception cref="PlacementFormatException">It is neither.</exception>
    public static PlacementOptions Keep(PlacementOptions options, byte[] bytes, string file)
    {
        ArgumentNullException.ThrowIfNull(options);
        ArgumentNullException.ThrowIfNull(bytes);
        using var stream = new MemoryStream(bytes);
        return IsPlacement(bytes)
            ? options with { Corrected = PlacementJson.Read(stream, file) }
            : options with { Corrections = CorrectionsJson.Read(stream, file) };
    }

    // Anything that isn't an object with the placement's format is left to the reader of corrections, which says what is wrong.
    private static bool IsPlacement(byte[] bytes)
    {
        try
        {
            using JsonDocument json = JsonDocument.Parse(bytes);
            return json.RootElement.ValueKind == JsonValueKind.Object
                && json.RootElement.TryGetProperty("format", out JsonElement format)
                && format.ValueKind == JsonValueKind.String && format.GetString() == PlacementJson.Format;
        }
        catch (JsonException)
        {
            return false;
        }
    }
}
