using AutoPlace.Import;

namespace AutoPlace.Cli.Bulk;

/// <summary>One of many heads to place.</summary>
/// <param name="Path">Its file.</param>
/// <param name="Name">Name of its folder in the output; no two heads have the same.</param>
internal sealed record BulkHead(string Path, string Name)
{
    private static readonly string[] Extensions = [".glb", ".gltf", ".obj", ".ply", ".stl", ".off"];

    /// <summary>The heads of a folder, by name, or of a list.</summary>
    /// <param name="path">
    /// A folder, of which every file with a mesh's extension counts; or a text file with a path on each line, from the
    /// list's own folder where it isn't absolute. Empty lines and those that begin with # say nothing.
    /// </param>
    /// <exception cref="MeshFormatException">Neither, or no head in it.</exception>
    internal static IReadOnlyList<BulkHead> ReadAll(string path)
    {
        IReadOnlyList<string> files;
        try
        {
            files = Directory.Exists(path) ? OfFolder(path) : OfList(path);
        }
        catch (Exception e) when (e is IOException or UnauthorizedAccessException)
        {
            throw new MeshFormatException(path, null, e.Message, e);
        }

        return files.Count > 0
            ? Named(files)
            : throw new MeshFormatException(path, null, $"names no head; looked for {string.Join(", ", Extensions)}");
    }

    private static string[] OfFolder(string folder) =>
        [.. Directory.EnumerateFiles(folder)
            .Where(file => Extensions.Contains(System.IO.Path.GetExtension(file), StringComparer.OrdinalIgnoreCase))
            .Order(StringComparer.Ordinal)];

    private static List<string> OfList(string list)
    {
        string folder = System.IO.Path.GetDirectoryName(System.IO.Path.GetFullPath(list))!;
        var files = new List<string>();
        foreach ((int number, string line) in File.ReadLines(list).Select((l, i) => (i + 1, l.Trim())).Where(l => l.Item2.Length > 0 && l.Item2[0] != '#'))
        {
            if (line.Contains('\0', StringComparison.Ordinal))
            {
                throw new MeshFormatException(list, $"line {number}", "is no path; a list has one on each line");
            }

            files.Add(System.IO.Path.Combine(folder, line));
        }

        return files;
    }

    /// <summary>Files with names for their folders: heads of the same name get their number among those.</summary>
    /// <param name="files">The files. The same ones in the same order get the same names.</param>
    internal static IReadOnlyList<BulkHead> Named(IReadOnlyList<string> files)
    {
        var taken = new HashSet<string>(StringComparer.OrdinalIgnoreCase); // as file systems do that don't tell case
        var heads = new List<BulkHead>(files.Count);
        foreach (string file in files)
        {
            string own = System.IO.Path.GetFileNameWithoutExtension(file), name = own;
            for (int number = 2; !taken.Add(name); number++)
            {
                name = $"{own}-{number}";
            }

            heads.Add(new BulkHead(file, name));
        }

        return heads;
    }
}
