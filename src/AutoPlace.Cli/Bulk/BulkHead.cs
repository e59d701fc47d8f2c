using AutoPlace.Import;

namespace AutoPlace.Cli.Bulk;

/// <summary>One of many heads to place.</summary>
/// <param name="Path">Its file.</param>
/// <param name="Name">Name of its folder in the output; no two heads have the same.</param>
internal sealed record BulkHead(string Path, string Name)
{
    private const int ShownNames = 12;

    private static readonly string[] Extensions = [".glb", ".gltf", ".obj", ".ply", ".stl", ".off"];

    private static readonly EnumerationOptions Below = new() { RecurseSubdirectories = true, AttributesToSkip = FileAttributes.Hidden | FileAttributes.System | FileAttributes.ReparsePoint };

    /// <summary>The heads of a folder, by name, or of a list.</summary>
    /// <param name="path">
    /// A folder, of which every file with a mesh's extension counts; or a text file with a path on each line, from the
    /// list's own folder where it isn't absolute. Empty lines and those that begin with # say nothing.
    /// </param>
    /// <param name="say">Receives what lies in a folder and isn't taken though it may be meant, a line for each kind.</param>
    /// <exception cref="MeshFormatException">Neither, or no head in it.</exception>
    internal static IReadOnlyList<BulkHead> ReadAll(string path, Action<string> say)
    {
        IReadOnlyList<string> files;
        try
        {
            files = Directory.Exists(path) ? OfFolder(path, say) : OfList(path);
        }
        catch (Exception e) when (e is IOException or UnauthorizedAccessException)
        {
            throw new MeshFormatException(path, null, e.Message, e);
        }

        return files.Count > 0
            ? Named(files)
            : throw new MeshFormatException(path, null, $"names no head; looked for {string.Join(", ", Extensions)}");
    }

    private static string[] OfFolder(string folder, Action<string> say)
    {
        string[] files = [.. Directory.EnumerateFiles(folder).Order(StringComparer.Ordinal)];
        string[] foreign = [.. files.Select(file => (Name: System.IO.Path.GetFileName(file), Format: ForeignFormats.ByExtension(System.IO.Path.GetExtension(file))))
            .Where(file => file.Format is not null).Select(file => $"{file.Name} ({file.Format})")];
        if (foreign.Length > 0)
        {
            say($"{folder}: not taken: {Listed(foreign)}; export glTF");
        }

        string[] inside = [.. Directory.EnumerateDirectories(folder).Order(StringComparer.Ordinal)
            .Where(below => Directory.EnumerateFiles(below, "*", Below).Any(file => IsMesh(file) && System.IO.Path.GetFileName(file) != PlacementFiles.MeshName))
            .Select(below => System.IO.Path.GetFileName(below))];
        if (inside.Length > 0)
        {
            say($"{folder}: heads in folders inside it are not taken: {Listed(inside)}; a list names heads of several folders");
        }

        return [.. files.Where(IsMesh)];
    }

    private static string Listed(string[] names) =>
        string.Join(", ", names.Take(ShownNames)) + (names.Length > ShownNames ? $" and {names.Length - ShownNames} more" : "");

    private static bool IsMesh(string file) => Extensions.Contains(System.IO.Path.GetExtension(file), StringComparer.OrdinalIgnoreCase);

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
