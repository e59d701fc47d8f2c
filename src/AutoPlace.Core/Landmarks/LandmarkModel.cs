using System.Security.Cryptography;
using System.Text.Json;

namespace AutoPlace.Landmarks;

/// <summary>A landmark network as it is kept on disk: model.json, and beside it the ONNX file that it names.</summary>
public sealed class LandmarkModel
{
    /// <summary>Name of a model's description.</summary>
    public const string DescriptionFile = "model.json";

    private const string Format = "autoplace.landmark-model";
    private const int FormatVersion = 1;

    private LandmarkModel(string folder, string name, string version, string sha256, byte[] onnx)
    {
        Folder = folder;
        Name = name;
        Version = version;
        Sha256 = sha256;
        Onnx = onnx;
    }

    /// <summary>Where it lies.</summary>
    public string Folder { get; }

    /// <summary>The model's name.</summary>
    public string Name { get; }

    /// <summary>The model's own version.</summary>
    public string Version { get; }

    /// <summary>SHA-256 of the ONNX file, lower-case hexadecimal.</summary>
    public string Sha256 { get; }

    /// <summary>The ONNX file's content.</summary>
    internal byte[] Onnx { get; }

    /// <summary>Folder of the models that come with the program, one folder for each version.</summary>
    public static string DefaultFolder => Path.Combine(AppContext.BaseDirectory, "models", "landmarks");

    /// <summary>The model that comes with the program; of several, the one whose folder's name sorts last.</summary>
    /// <exception cref="LandmarkModelException">There is none, or it can't be used.</exception>
    public static LandmarkModel OpenDefault()
    {
        string? newest = Directory.Exists(DefaultFolder)
            ? Directory.EnumerateDirectories(DefaultFolder)
                .Where(d => File.Exists(Path.Combine(d, DescriptionFile)))
                .Max(StringComparer.Ordinal)
            : null;
        return newest is null
            ? throw new LandmarkModelException($"{DefaultFolder}: no landmark model is installed here.")
            : Open(newest);
    }

    /// <summary>Reads a model and checks that it is whole and made for this program.</summary>
    /// <param name="folder">Folder with model.json and the ONNX file that it names.</param>
    /// <exception cref="LandmarkModelException">
    /// A file is missing or damaged, or the model was made for another contract; the message names file and reason, and
    /// both contracts.
    /// </exception>
    public static LandmarkModel Open(string folder)
    {
        ArgumentException.ThrowIfNullOrEmpty(folder);
        string path = Path.Combine(folder, DescriptionFile);
        try
        {
            using var description = JsonDocument.Parse(File.ReadAllBytes(path));
            return Read(description.RootElement, path, folder);
        }
        catch (Exception e) when (e is IOException or UnauthorizedAccessException or JsonException)
        {
            throw new LandmarkModelException($"{path}: the landmark model can't be read: {e.Message}", e);
        }
    }

    /// <summary>Loads the network; the caller disposes of it.</summary>
    /// <exception cref="LandmarkModelException">The ONNX file isn't a network of this contract.</exception>
    public LandmarkNetwork CreateNetwork() => new(this);

    private static LandmarkModel Read(JsonElement root, string path, string folder)
    {
        string format = Text(root, path, "format");
        if (format != Format || Property(root, path, "version").ToString() != $"{FormatVersion}")
        {
            throw new LandmarkModelException(
                $"{path}: format '{format}', version {Property(root, path, "version")}, expected '{Format}', version {FormatVersion}.");
        }

        string contract = Text(root, path, "contract");
        if (contract != ModelContract.Sha256)
        {
            throw new LandmarkModelException(
                $"{path}: the model was made for contract {contract}, this program needs {ModelContract.Sha256}.");
        }

        JsonElement onnx = Property(root, path, "onnx");
        string file = Text(onnx, path, "file"), expected = Text(onnx, path, "sha256");
        if (file.Length == 0 || file != Path.GetFileName(file))
        {
            throw new LandmarkModelException($"{path}: onnx.file '{file}' is not the name of a file beside it.");
        }

        byte[] content = File.ReadAllBytes(Path.Combine(folder, file));
        string found = Convert.ToHexStringLower(SHA256.HashData(content));
        return string.Equals(found, expected, StringComparison.OrdinalIgnoreCase)
            ? new LandmarkModel(folder, Text(root, path, "name"), Text(root, path, "modelVersion"), found, content)
            : throw new LandmarkModelException(
                $"{Path.Combine(folder, file)}: SHA-256 is {found}, {DescriptionFile} says {expected}: the file is damaged or not the one described.");
    }

    private static JsonElement Property(JsonElement element, string path, string name) =>
        element.ValueKind == JsonValueKind.Object && element.TryGetProperty(name, out JsonElement value)
            ? value
            : throw new LandmarkModelException($"{path}: '{name}' is missing.");

    private static string Text(JsonElement element, string path, string name)
    {
        JsonElement value = Property(element, path, name);
        return value.ValueKind == JsonValueKind.String
            ? value.GetString()!
            : throw new LandmarkModelException($"{path}: '{name}' is not a string.");
    }
}
