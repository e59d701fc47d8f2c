using System.Text.Json;
using AutoPlace.Conditioning;
using AutoPlace.Geometry;
using AutoPlace.Import;

namespace AutoPlace.Cli.Evaluation;

/// <summary>A head with landmarks set by people: a folder with a mesh and landmarks_meta.json.</summary>
/// <param name="Id">Name of the folder.</param>
/// <param name="Group">Kind of head ("realistic", "stylised", "scan", …); "all" where the file doesn't say.</param>
/// <param name="MeshPath">The mesh.</param>
/// <param name="Frame">
/// Facing frame, file coordinates; its origin isn't labelled and is zero. An interocular distance of 0 means that none
/// is labelled: then the frame is compared, the landmarks aren't.
/// </param>
/// <param name="Landmarks">Positions by name, file coordinates.</param>
/// <param name="LabelErrors">The labels' own errors by name, one standard deviation, interocular distances; 0 where the file doesn't say.</param>
internal sealed record LabelledHead(
    string Id,
    string Group,
    string MeshPath,
    HeadFrame Frame,
    IReadOnlyDictionary<string, Vector3d> Landmarks,
    IReadOnlyDictionary<string, double> LabelErrors)
{
    internal const string FileName = "landmarks_meta.json";

    /// <summary>The labelled heads of a folder, one in each folder below it, by name.</summary>
    /// <exception cref="MeshFormatException">There is none, or one can't be read.</exception>
    internal static IReadOnlyList<LabelledHead> ReadAll(string folder)
    {
        try
        {
            LabelledHead[] heads =
            [
                .. Directory.EnumerateDirectories(folder)
                    .Where(d => File.Exists(Path.Combine(d, FileName)))
                    .Order(StringComparer.Ordinal)
                    .Select(Read),
            ];
            return heads.Length > 0 ? heads : throw new MeshFormatException(folder, null, $"no folder in it has a {FileName}");
        }
        catch (Exception e) when (e is IOException or UnauthorizedAccessException)
        {
            throw new MeshFormatException(folder, null, e.Message, e);
        }
    }

    private static LabelledHead Read(string folder)
    {
        string path = Path.Combine(folder, FileName);
        try
        {
            using JsonDocument json = JsonDocument.Parse(File.ReadAllBytes(path));
            JsonElement root = json.RootElement;
            JsonElement frame = Property(root, "frame"), landmarks = Property(root, "landmarks");
            return new LabelledHead(
                Path.GetFileName(folder),
                root.TryGetProperty("group", out JsonElement group) ? group.GetString() ?? "all" : "all",
                Path.Combine(folder, Property(root, "mesh").GetString() ?? ""),
                new HeadFrame(
                    Vector3d.Zero,
                    Vector(Property(frame, "left")).Normalized(),
                    Vector(Property(frame, "up")).Normalized(),
                    Vector(Property(frame, "front")).Normalized(),
                    Interocular(Property(root, "interocular"))),
                landmarks.EnumerateObject().ToDictionary(l => l.Name, l => Vector(Property(l.Value, "position")), StringComparer.Ordinal),
                landmarks.EnumerateObject().ToDictionary(
                    l => l.Name, l => l.Value.TryGetProperty("error", out JsonElement e) ? e.GetDouble() : 0, StringComparer.Ordinal));
        }
        catch (Exception e) when (e is JsonException or InvalidOperationException or FormatException or IndexOutOfRangeException)
        {
            throw new MeshFormatException(path, null, e.Message, e);
        }
    }

    private static JsonElement Property(JsonElement of, string name) =>
        of.TryGetProperty(name, out JsonElement value) ? value : throw new FormatException($"the key '{name}' is missing");

    // Null for a head on which nobody found the eyes.
    private static double Interocular(JsonElement element) =>
        element.ValueKind == JsonValueKind.Null ? 0 : element.GetDouble();

    private static Vector3d Vector(JsonElement element) => new(element[0].GetDouble(), element[1].GetDouble(), element[2].GetDouble());
}
