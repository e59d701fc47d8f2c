using System.Text.Json;
using AutoPlace.Geometry;
using AutoPlace.Landmarks;

namespace AutoPlace.Verification;

/// <summary>
/// A calibration on disk, calibration.json beside the network's model.json. It names its features and landmarks, and is
/// refused where the program has others, or another network.
/// </summary>
public static class CalibrationFile
{
    /// <summary>Name of the file.</summary>
    public const string Name = "calibration.json";

    private const string Format = "autoplace.calibration";
    private const int Version = 2;

    /// <summary>Reads the calibration of a network; null when it has none.</summary>
    /// <param name="model">The network.</param>
    /// <exception cref="LandmarkModelException">The calibration can't be read, or was made for another network or program.</exception>
    public static ConfidenceCalibration? Beside(LandmarkModel model)
    {
        ArgumentNullException.ThrowIfNull(model);
        string path = Path.Combine(model.Folder, Name);
        if (!File.Exists(path))
        {
            return null;
        }

        try
        {
            ConfidenceCalibration calibration = Read(File.ReadAllBytes(path));
            return calibration.ModelSha256 == model.Sha256
                ? calibration
                : throw new FormatException($"it was made for network {calibration.ModelSha256}, beside it lies {model.Sha256}");
        }
        catch (Exception e) when (e is IOException or UnauthorizedAccessException or FormatException)
        {
            throw new LandmarkModelException($"{path}: the calibration can't be used: {e.Message}", e);
        }
    }

    /// <summary>Reads a calibration.</summary>
    /// <param name="json">Content of the file.</param>
    /// <exception cref="FormatException">It isn't one, or was made for other features or landmarks.</exception>
    public static ConfidenceCalibration Read(ReadOnlyMemory<byte> json)
    {
        try
        {
            using var document = JsonDocument.Parse(json);
            JsonElement root = document.RootElement;
            Expect(root.GetProperty("format").GetString() == Format && root.GetProperty("version").GetInt32() == Version, "format and version");
            Expect(Texts(root.GetProperty("landmarkFeatures")).SequenceEqual(LandmarkFeatures.Names), "landmarkFeatures");
            Expect(Texts(root.GetProperty("jointFeatures")).SequenceEqual(JointFeatures.Names), "jointFeatures");
            Expect(Texts(root.GetProperty("headFeatures")).SequenceEqual(HeadFeatures.Names), "headFeatures");
            return new ConfidenceCalibration
            {
                ModelSha256 = root.GetProperty("modelSha256").GetString() ?? "",
                Radii = ReadLandmarkRadii(root.GetProperty("radius90")),
                Joints = ReadRadii(root.GetProperty("jointRadius90"), JointFeatures.InputCount),
                Failure = ReadClassifier(root.GetProperty("failure"), ConfidenceCalibration.FailureInputCount),
            };
        }
        catch (Exception e) when (e is JsonException or KeyNotFoundException or InvalidOperationException or ArgumentException)
        {
            throw new FormatException($"not a calibration: {e.Message}", e);
        }
    }

    /// <summary>Writes a calibration.</summary>
    public static byte[] Write(ConfidenceCalibration calibration)
    {
        ArgumentNullException.ThrowIfNull(calibration);
        using var stream = new MemoryStream();
        using (var json = new Utf8JsonWriter(stream))
        {
            json.WriteStartObject();
            json.WriteString("format", Format);
            json.WriteNumber("version", Version);
            json.WriteString("modelSha256", calibration.ModelSha256);
            WriteArray(json, "landmarkFeatures", LandmarkFeatures.Names, json.WriteStringValue);
            WriteArray(json, "jointFeatures", JointFeatures.Names, json.WriteStringValue);
            WriteArray(json, "headFeatures", HeadFeatures.Names, json.WriteStringValue);
            json.WriteStartObject("radius90");
            WriteArray(json, "usual", calibration.Radii.Usual, u => WriteUsual(json, u));
            WriteRadii(json, calibration.Radii.Errors);
            json.WriteEndObject();
            json.WriteStartObject("jointRadius90");
            WriteRadii(json, calibration.Joints);
            json.WriteEndObject();
            WriteClassifier(json, "failure", calibration.Failure);
            json.WriteEndObject();
        }

        return stream.ToArray();
    }

    private static void Expect(bool fits, string key)
    {
        if (!fits)
        {
            throw new FormatException($"'{key}' is not what this program needs");
        }
    }

    private static IEnumerable<string?> Texts(JsonElement array) => array.EnumerateArray().Select(e => e.GetString());

    private static double[] Numbers(JsonElement array) => [.. array.EnumerateArray().Select(e => e.GetDouble())];

    private static int[] Wholes(JsonElement array) => [.. array.EnumerateArray().Select(e => e.GetInt32())];

    private static Vector3d Point(JsonElement array) => new(array[0].GetDouble(), array[1].GetDouble(), array[2].GetDouble());

    private static RadiusCalibration ReadLandmarkRadii(JsonElement r)
    {
        UsualLandmark[] usual = [.. r.GetProperty("usual").EnumerateArray().Select(ReadUsual)];
        Expect(usual.Select(u => u.Name).SequenceEqual(LandmarkNames.All), "usual");
        return new RadiusCalibration { Usual = usual, Errors = ReadRadii(r, RadiusCalibration.InputCount) };
    }

    private static ConformalRadii ReadRadii(JsonElement r, int features)
    {
        double[] borders = Numbers(r.GetProperty("classBorders")), factors = Numbers(r.GetProperty("factors"));
        Expect(factors.Length == borders.Length + 1, "factors");
        return new ConformalRadii { LogError = ReadTrees(r.GetProperty("logError"), features), ClassBorders = borders, Factors = factors };
    }

    private static void WriteRadii(Utf8JsonWriter json, ConformalRadii radii)
    {
        WriteArray(json, "classBorders", radii.ClassBorders, json.WriteNumberValue);
        WriteArray(json, "factors", radii.Factors, json.WriteNumberValue);
        WriteTrees(json, "logError", radii.LogError);
    }

    private static UsualLandmark ReadUsual(JsonElement u) => new(
        u.GetProperty("name").GetString() ?? "",
        u.GetProperty("logError").GetDouble(),
        Point(u.GetProperty("atlas")),
        Point(u.GetProperty("dense")));

    private static void WriteUsual(Utf8JsonWriter json, UsualLandmark usual)
    {
        json.WriteStartObject();
        json.WriteString("name", usual.Name);
        json.WriteNumber("logError", usual.LogError);
        WriteArray(json, "atlas", [usual.Atlas.X, usual.Atlas.Y, usual.Atlas.Z], json.WriteNumberValue);
        WriteArray(json, "dense", [usual.Dense.X, usual.Dense.Y, usual.Dense.Z], json.WriteNumberValue);
        json.WriteEndObject();
    }

    private static TreeClassifier ReadClassifier(JsonElement c, int features) => new(
        ReadTrees(c.GetProperty("trees"), features), c.GetProperty("slope").GetDouble(), c.GetProperty("offset").GetDouble());

    private static void WriteClassifier(Utf8JsonWriter json, string name, TreeClassifier classifier)
    {
        json.WriteStartObject(name);
        json.WriteNumber("slope", classifier.Slope);
        json.WriteNumber("offset", classifier.Offset);
        WriteTrees(json, "trees", classifier.Trees);
        json.WriteEndObject();
    }

    private static TreeEnsemble ReadTrees(JsonElement e, int features) => new(
        e.GetProperty("bias").GetDouble(), [.. e.GetProperty("trees").EnumerateArray().Select(ReadTree)], features);

    private static DecisionTree ReadTree(JsonElement t) => new(
        Wholes(t.GetProperty("feature")),
        [.. t.GetProperty("threshold").EnumerateArray().Select(v => v.GetSingle())],
        Wholes(t.GetProperty("left")),
        Wholes(t.GetProperty("right")),
        Numbers(t.GetProperty("leaf")));

    private static void WriteTrees(Utf8JsonWriter json, string name, TreeEnsemble trees)
    {
        json.WriteStartObject(name);
        json.WriteNumber("bias", trees.Bias);
        WriteArray(json, "trees", trees.Trees, t =>
        {
            json.WriteStartObject();
            WriteArray(json, "feature", t.Features, json.WriteNumberValue);
            WriteArray(json, "threshold", t.Thresholds, json.WriteNumberValue);
            WriteArray(json, "left", t.Left, json.WriteNumberValue);
            WriteArray(json, "right", t.Right, json.WriteNumberValue);
            WriteArray(json, "leaf", t.Leaves, json.WriteNumberValue);
            json.WriteEndObject();
        });
        json.WriteEndObject();
    }

    private static void WriteArray<T>(Utf8JsonWriter json, string name, IEnumerable<T> values, Action<T> write)
    {
        json.WriteStartArray(name);
        foreach (T value in values)
        {
            write(value);
        }

        json.WriteEndArray();
    }
}
