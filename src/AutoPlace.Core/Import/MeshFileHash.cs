using System.Security.Cryptography;
using System.Text.Json;

namespace AutoPlace.Import;

/// <summary>What tells whether a mesh file, or a file that it refers to, has changed.</summary>
public static class MeshFileHash
{
    /// <summary>SHA-256 of a file; of a glTF file with the buffers and images below its folder that it refers to, in the order of the file.</summary>
    /// <param name="path">The file. One that claims to be glTF and isn't is hashed by itself; a file missing beside it counts as empty.</param>
    /// <returns>Lower-case hexadecimal. Where nothing is referred to it is <see cref="HeadScan.Sha256"/>.</returns>
    /// <exception cref="IOException">The file can't be read.</exception>
    /// <exception cref="UnauthorizedAccessException">It may not be read.</exception>
    /// <exception cref="MeshFormatException">It is larger than can be read.</exception>
    public static string Of(string path)
    {
        ArgumentException.ThrowIfNullOrEmpty(path);
        using FileStream stream = File.OpenRead(path);
        if (Path.GetExtension(path).ToUpperInvariant() is not (".GLB" or ".GLTF"))
        {
            return Convert.ToHexStringLower(SHA256.HashData(stream));
        }

        MeshSource source = MeshSource.Load(stream, path, new MeshReadOptions());
        Func<string, Stream> openBeside = FilesBeside.Of(path);
        foreach (string below in Referred(source))
        {
            source.HashBeside(Bytes(openBeside, below));
        }

        return source.Sha256;
    }

    // Paths below the file's folder.
    private static List<string> Referred(MeshSource source)
    {
        var paths = new List<string>();
        try
        {
            using JsonDocument json = JsonDocument.Parse(GltfDocument.Contents(source).Json);
            foreach (string list in (string[])["buffers", "images"])
            {
                if (json.RootElement.TryGetProperty(list, out JsonElement elements))
                {
                    paths.AddRange(elements.EnumerateArray()
                        .Where(element => element.TryGetProperty("uri", out JsonElement uri) && uri.ValueKind == JsonValueKind.String)
                        .Select(element => GltfBuffers.PathBelow(element.GetProperty("uri").GetString()!)) // null for data and for what leads elsewhere
                        .OfType<string>());
                }
            }

            return paths;
        }
        catch (Exception e) when (e is MeshFormatException or JsonException or InvalidOperationException)
        {
            return [];
        }
    }

    private static byte[] Bytes(Func<string, Stream> open, string below)
    {
        try
        {
            using Stream stream = open(below);
            using var copy = new MemoryStream();
            stream.CopyTo(copy);
            return copy.ToArray();
        }
        catch (Exception e) when (e is IOException or UnauthorizedAccessException)
        {
            return [];
        }
    }
}
