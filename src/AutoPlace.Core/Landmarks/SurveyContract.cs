using System.Globalization;
using System.Security.Cryptography;
using System.Text;

namespace AutoPlace.Landmarks;

/// <summary>What product and trainer agree on about the head finder's network; see <see cref="ModelContract"/>.</summary>
internal static class SurveyContract
{
    /// <summary>Cells a side of the map.</summary>
    public const int MapSize = 32;

    /// <summary>Input pixels a side of a cell.</summary>
    public const int CellPixels = ModelContract.InputSize / MapSize;

    /// <summary>Planes of the map.</summary>
    public const int Presence = 0, Front = 1, Up = 4, OffsetX = 7, OffsetY = 8, LogInterocular = 9, Depth = 10;

    /// <summary>Name of the output.</summary>
    public const string Map = "map";

    private static readonly string[] Numbers =
    [
        "presence_logit", "front_x", "front_y", "front_z", "up_x", "up_y", "up_z", "offset_x_cells", "offset_y_cells",
        "log_interocular_over_half_size", "depth_over_half_size", "log_turn_scale",
    ];

    /// <summary>Names of the outputs.</summary>
    public static IReadOnlyList<string> Outputs { get; } = [Map];

    /// <summary>The contract as text.</summary>
    public static string Text { get; } = Write();

    /// <summary>SHA-256 of the text (UTF-8), lower-case hexadecimal.</summary>
    public static string Sha256 { get; } = Convert.ToHexStringLower(SHA256.HashData(Encoding.UTF8.GetBytes(Text)));

    /// <summary>Shape of the output for one view, without the batch dimension.</summary>
    public static int[] Shape(string output) => output == Map
        ? [Numbers.Length, MapSize, MapSize]
        : throw new ArgumentOutOfRangeException(nameof(output), output, "No output of the contract.");

    private static string Write()
    {
        var text = new StringBuilder("autoplace.head-finder contract 1\n");
        int size = ModelContract.InputSize;
        text.Append(CultureInfo.InvariantCulture, $"input {ModelContract.Input} float32 N {ModelContract.Channels.Count} {size} {size}\n");
        ModelContract.Number(text, "channel", ModelContract.Channels);
        text.Append(CultureInfo.InvariantCulture, $"output {Map} float32 N {string.Join(' ', Shape(Map))}\n");
        ModelContract.Number(text, "number", Numbers);
        text.Append(CultureInfo.InvariantCulture, $"cell {CellPixels}\n");
        return text.ToString();
    }
}
