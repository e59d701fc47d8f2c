using System.Globalization;
using System.Numerics;
using System.Security.Cryptography;
using System.Text;
using AutoPlace.Rendering;

namespace AutoPlace.Landmarks;

/// <summary>
/// What product and trainer agree on about the landmark network: shapes, channels, landmarks, classes, outputs, views and
/// the decoding of heat maps. Both write it as the same text; a model carries the text's hash, and one with another hash
/// is refused.
/// </summary>
public static class ModelContract
{
    /// <summary>Pixels a side of the network's input.</summary>
    public const int InputSize = ViewRing.InputSize;

    /// <summary>Cells a side of a heat map and of the dense map.</summary>
    public const int MapSize = 64;

    /// <summary>Input pixels a side of a cell.</summary>
    public const int CellPixels = InputSize / MapSize;

    /// <summary>Cells a side of the window in which a position is decoded.</summary>
    public const int Window = 5;

    /// <summary>Planes of the dense output: atlas x, y, z and the log of their scale.</summary>
    internal const int DensePlanes = 4;

    /// <summary>Name of the input.</summary>
    internal const string Input = "views";

    /// <summary>Limits of the log of a position's Laplace scale in pixels, those of the trainer's loss.</summary>
    internal const float MinLogPixelScale = -3.0f, MaxLogPixelScale = 5.3f;

    /// <summary>Limits of the log of an atlas point's Laplace scale in interocular distances, those of the trainer's loss.</summary>
    internal const float MinLogAtlasScale = -7.6f, MaxLogAtlasScale = 1.6f;

    /// <summary>Names of the outputs, in the order in which the network is asked for them.</summary>
    internal static IReadOnlyList<string> Outputs { get; } = ["heatmaps", "scales", "presence", "dense", "classes", "facing"];

    /// <summary>Names of the input's planes (see <see cref="ViewTensor"/>).</summary>
    internal static IReadOnlyList<string> Channels { get; } = ["depth", "normal_x", "normal_y", "normal_z", "mask", "border"];

    /// <summary>The contract as text.</summary>
    public static string Text { get; } = Write();

    /// <summary>SHA-256 of the text (UTF-8), lower-case hexadecimal.</summary>
    public static string Sha256 { get; } = Convert.ToHexStringLower(SHA256.HashData(Encoding.UTF8.GetBytes(Text)));

    /// <summary>Shape of an output for one view, without the batch dimension.</summary>
    internal static int[] Shape(string output) => output switch
    {
        "heatmaps" => [LandmarkNames.All.Count, MapSize, MapSize],
        "scales" or "presence" => [LandmarkNames.All.Count],
        "dense" => [DensePlanes, MapSize, MapSize],
        "classes" => [DenseMap.ClassCount, MapSize, MapSize],
        "facing" => [1],
        _ => throw new ArgumentOutOfRangeException(nameof(output), output, "No output of the contract."),
    };

    private static string Write()
    {
        var text = new StringBuilder("autoplace.landmark-model contract 1\n");
        text.Append(CultureInfo.InvariantCulture, $"input {Input} float32 N {Channels.Count} {InputSize} {InputSize}\n");
        Number(text, "channel", Channels);
        Number(text, "landmark", LandmarkNames.All);
        Number(text, "class", [.. Enum.GetNames<SurfaceClass>().Select(SnakeCase)]);
        foreach (string output in Outputs)
        {
            text.Append(CultureInfo.InvariantCulture, $"output {output} float32 N {string.Join(' ', Shape(output))}\n");
        }

        View(text, "whole", ViewRing.WholeHalfSize, ViewRing.WholeCentre);
        View(text, "close", ViewRing.CloseHalfSize, ViewRing.CloseCentre);
        text.Append(CultureInfo.InvariantCulture, $"decode window {Window} cell {CellPixels}\n");
        return text.ToString();
    }

    /// <summary>Appends names with their numbers, a line for each.</summary>
    internal static void Number(StringBuilder text, string kind, IReadOnlyList<string> names)
    {
        for (int i = 0; i < names.Count; i++)
        {
            text.Append(CultureInfo.InvariantCulture, $"{kind} {i} {names[i]}\n");
        }
    }

    private static void View(StringBuilder text, string name, float halfSize, Vector3 centre)
    {
        string yaws = string.Join(' ', ViewRing.YawsInDegrees.Order().Select(y => y.ToString(CultureInfo.InvariantCulture)));
        text.Append(
            CultureInfo.InvariantCulture,
            $"view {name} half-size {halfSize} centre {centre.X} {centre.Y} {centre.Z} yaw {yaws}\n");
    }

    private static string SnakeCase(string name) =>
        string.Concat(name.Select((c, i) => i > 0 && char.IsUpper(c) ? $"_{char.ToLowerInvariant(c)}" : $"{char.ToLowerInvariant(c)}"));
}
