using System.Security.Cryptography;
using System.Text.Json;

namespace AutoPlace.Landmarks;

/// <summary>A network as it is kept on disk: model.json, and beside it the ONNX file that it names.</summary>
/// <param name="Kind">What it is, for messages.</param>
/// <param name="Folder">Where it lies.</param>
/// <param name="Name">Its name.</param>
/// <param name="Version">Its own version.</param>
/// <param name="Sha256">SHA-256 of the ONNX file, lower-case hexadecimal.</param>
/// <param name="Onnx">The ONNX file's content.</param>
internal sealed record NetworkFile(string Kind, string Folder, string Name, string Version, string Sha256, byte[] Onnx)
{
    private const int FormatVersion = 1;

    /// <summary>Folder of the newest version of a network that comes with the program: of several, the one whose name sorts last.</summary>
    /// <param name="kind">What it is, for the message.</param>
    /// <param name="folder">Folder of its versions.</param>
    /// <exception cref="LandmarkModelException">There is none.</exception>
    public static string Newest(string kind, string folder)
    {
        string? newest = Directory.Exists(folder)
            ? Directory.EnumerateDirectories(folder).Where(d => File.Exists(Path.Combine(d, LandmarkModel.DescriptionFile))).Max(StringComparer.Ordinal)
            : null;
        return newest ?? throw new LandmarkModelException($"{folder}: no {kind} is installed here.");
    }

    /// <summary>Reads a network and checks that it is whole and made for this program.</summary>
    /// <param name="kind">What it is, for messages.</param>
    /// <param name="format">Format that its description must have.</param>
    /// <param name="contract">Hash of the contract that it must be made for.</param>
    /// <param name="folder">Folder with model.json and the ONNX file that it names.</param>
    /// <exception cref="LandmarkModelException">
    /// A file is missing or damaged, or the network was made for another contract; the message names file and reason, and
    /// both contracts.
    /// </exception>
    public static NetworkFile Read(string kind, string format, string contract, string folder)
    {
        ArgumentException.ThrowIfNullOrEmpty(folder);
        string path = Path.Combine(folder, LandmarkModel.DescriptionFile);
        try
        {
            using var description = JsonDocument.Parse(File.ReadAllBytes(path));
            return Read(description.RootElement, kind, format, contract, path, folder);
        }
        catch (Exception e) when (e is IOException or UnauthorizedAccessException or JsonException)
        {
            throw new LandmarkModelException($"{path}: the {kind} can't be read: {e.Message}", e);
        }
    }

    private static NetworkFile Read(JsonElement root, string kind, string format, string contract, string path, string folder)
    {
        string foundFormat = Text(root, path, "format");
        if (foundFormat != format || Property(root, path, "version").ToString() != $"{FormatVersion}")
        {
            throw new LandmarkModelException(
                $"{path}: format '{foundFormat}', version {Property(root, path, "version")}, expected '{format}', version {FormatVersion}.");
        }

        string foundContract = Text(root, path, "contract");
        if (foundContract != contract)
        {
            throw new LandmarkModelException($"{path}: the model was made for contract {foundContract}, this program needs {contract}.");
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
            ? new NetworkFile(kind, folder, Text(root, path, "name"), Text(root, path, "modelVersion"), found, content)
            : throw new LandmarkModelException(
                $"{Path.Combine(folder, file)}: SHA-256 is {found}, {LandmarkModel.DescriptionFile} says {expected}: the file is damaged or not the one described.");
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
