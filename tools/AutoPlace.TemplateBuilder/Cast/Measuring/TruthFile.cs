using System.Text.Json;
using AutoPlace.Geometry;

namespace AutoPlace.TemplateBuilder.Cast.Measuring;

/// <summary>What a NAME.joints.json says, in the coordinates of the head's file.</summary>
/// <param name="Name">Name of the head.</param>
/// <param name="MeshPath">Path of the head's file.</param>
/// <param name="InterocularDistance">True distance between the eyes' centres.</param>
/// <param name="Origin">Midway between the eyes' centres.</param>
/// <param name="Left">The subject's left, perpendicular to the plane about which the puppet was symmetric at first.</param>
/// <param name="Up">Up, perpendicular to the left.</param>
/// <param name="Joints">True positions by name.</param>
/// <param name="KnownOffsets">By how much named joints were moved on one side.</param>
internal sealed record TruthFile(
    string Name, string MeshPath, double InterocularDistance, Vector3d Origin, Vector3d Left, Vector3d Up,
    IReadOnlyDictionary<string, Vector3d> Joints, IReadOnlyDictionary<string, Vector3d> KnownOffsets)
{
    private const string Suffix = ".joints.json";

    /// <summary>The file itself.</summary>
    public string JointsPath => Path.Combine(Path.GetDirectoryName(MeshPath)!, Name + Suffix);

    /// <summary>All truths of a folder, by name.</summary>
    public static IReadOnlyList<TruthFile> ReadAll(string folder) =>
        [.. Directory.EnumerateFiles(folder, "*" + Suffix).Order(StringComparer.Ordinal).Select(Read)];

    /// <summary>Reads one.</summary>
    public static TruthFile Read(string path)
    {
        using JsonDocument document = JsonDocument.Parse(File.ReadAllBytes(path));
        JsonElement root = document.RootElement;
        JsonElement frame = root.GetProperty("frame");
        return new TruthFile(
            Path.GetFileName(path)[..^Suffix.Length],
            Path.Combine(Path.GetDirectoryName(path)!, root.GetProperty("mesh").GetString()!),
            root.GetProperty("interocularDistance").GetDouble(),
            Vector(frame.GetProperty("origin")),
            Vector(frame.GetProperty("left")),
            Vector(frame.GetProperty("up")),
            root.GetProperty("joints").EnumerateArray().ToDictionary(joint => joint.GetProperty("name").GetString()!, joint => Vector(joint.GetProperty("position")), StringComparer.Ordinal),
            root.TryGetProperty("knownOffsets", out JsonElement offsets)
                ? offsets.EnumerateArray().ToDictionary(offset => offset.GetProperty("joint").GetString()!, offset => Vector(offset.GetProperty("offset")), StringComparer.Ordinal)
                : new Dictionary<string, Vector3d>());
    }

    private static Vector3d Vector(JsonElement array) => new(array[0].GetDouble(), array[1].GetDouble(), array[2].GetDouble());
}
