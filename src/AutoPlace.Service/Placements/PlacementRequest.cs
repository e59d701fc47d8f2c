using System.Text.Json;
using AutoPlace.Conditioning;
using AutoPlace.Export;
using AutoPlace.Geometry;
using AutoPlace.Service.Hosting;
using AutoPlace.Service.Templates;

namespace AutoPlace.Service.Placements;

/// <summary>How a head is to be placed; everything may be left out.</summary>
public record PlacementRequest
{
    private const int MostParts = 256;

    /// <summary>Which of the template's joints: full or reduced.</summary>
    public LatticeExtent Lattice { get; init; }

    /// <summary>Axis of the file that is up: x, -x, y, -y, z, -z; null to find it.</summary>
    public string? Up { get; init; }

    /// <summary>Axis of the file that the face looks along; null to find it.</summary>
    public string? Front { get; init; }

    /// <summary>Names of the parts that hold the head; none to find it.</summary>
    public IReadOnlyList<string> Parts { get; init; } = [];

    /// <summary>True to treat the head as symmetric.</summary>
    public bool Symmetric { get; init; }

    /// <summary>A template, or null for the built-in one.</summary>
    public string? Template { get; init; }

    /// <summary>Contents of a corrections.json to keep, made on this head or another version of it.</summary>
    public JsonElement? Corrections { get; init; }

    /// <summary>The options for the pipeline, template apart.</summary>
    /// <exception cref="RequestRefused">An axis is none, or parts are too many or nameless.</exception>
    /// <exception cref="PlacementFormatException">The corrections aren't valid.</exception>
    internal PlacementOptions ToOptions()
    {
        (Vector3d? up, Vector3d? front) = (Axis("up", Up), Axis("front", Front));
        if (up is { } u && front is { } f && Vector3d.Dot(u, f) != 0)
        {
            throw RequestRefused.Unusable("front", "up and front can't be the same axis");
        }

        if (Parts.Count > MostParts || Parts.Any(string.IsNullOrEmpty))
        {
            throw RequestRefused.Unusable("parts", $"at most {MostParts} names of parts, none of them empty");
        }

        return PlacementOptions.Default with
        {
            Lattice = Lattice,
            Up = up,
            Front = front,
            Parts = Parts,
            Symmetric = Symmetric,
            Corrections = Corrections is { ValueKind: not JsonValueKind.Null } corrections ? Read(corrections) : null,
        };
    }

    /// <summary>Makes sure that a request can be followed.</summary>
    /// <exception cref="RequestRefused">As for the options; there is no such template, or it has only one level and the reduced joints are wanted.</exception>
    /// <exception cref="PlacementFormatException">The corrections aren't valid.</exception>
    internal void Check(TemplateStore templates)
    {
        if ((ToOptions() with { Template = templates.Find(Template) }).LacksReducedLevel)
        {
            throw RequestRefused.Unusable("lattice", "the template has only one level; its list \"reduced\" names no joint");
        }
    }

    private static Vector3d? Axis(string element, string? word) => word is null ? null
        : AxisFrames.AxesByName.TryGetValue(word, out Vector3d axis) ? axis
        : throw RequestRefused.Unusable(element, "is none of x, -x, y, -y, z, -z");

    private static CorrectionsDocument Read(JsonElement corrections)
    {
        using var text = new MemoryStream(JsonSerializer.SerializeToUtf8Bytes(corrections));
        return CorrectionsJson.Read(text, "corrections");
    }
}
