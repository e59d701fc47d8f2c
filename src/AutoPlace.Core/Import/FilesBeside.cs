namespace AutoPlace.Import;

/// <summary>
/// Opens files that a .gltf file refers to, below its own folder only: a link that leads out of the folder is refused,
/// wherever it stands on the way.
/// </summary>
public static class FilesBeside
{
    /// <summary>More links on one way than this are taken for a circle, as Linux does (MAXSYMLINKS, path_resolution(7)).</summary>
    private const int MostLinks = 40;

    /// <summary>What <see cref="MeshReadOptions.OpenBeside"/> needs for a file on disk.</summary>
    /// <param name="path">Path of the .gltf file.</param>
    /// <returns>Opens a path relative to the file's folder; throws <see cref="IOException"/> where that leads outside.</returns>
    public static Func<string, Stream> Of(string path)
    {
        ArgumentException.ThrowIfNullOrEmpty(path);
        string folder = Path.GetDirectoryName(Path.GetFullPath(path))!;
        return below =>
        {
            string inside = WithoutLinks(folder);
            string file = WithoutLinks(Path.GetFullPath(Path.Combine(folder, below)));
            string start = Path.EndsInDirectorySeparator(inside) ? inside : inside + Path.DirectorySeparatorChar;
            return file.StartsWith(start, StringComparison.Ordinal)
                ? File.OpenRead(file)
                : throw new IOException("is a link that leads out of the folder of this file");
        };
    }

    private static string WithoutLinks(string path)
    {
        string real = Path.GetPathRoot(path)!;
        var waiting = new Stack<string>();
        Push(path[real.Length..]);
        for (int links = 0; waiting.TryPop(out string? part);)
        {
            if (part == "..")
            {
                real = Path.GetDirectoryName(real) ?? real;
                continue;
            }

            string next = Path.Combine(real, part);
            if (new FileInfo(next).LinkTarget is not string target)
            {
                real = next;
                continue;
            }

            if (++links > MostLinks)
            {
                throw new IOException("is a link that leads nowhere");
            }

            real = Path.IsPathRooted(target) ? Path.GetPathRoot(target)! : real;
            Push(Path.IsPathRooted(target) ? target[real.Length..] : target);
        }

        return real;

        void Push(string relative)
        {
            foreach (string part in relative.Split(
                [Path.DirectorySeparatorChar, Path.AltDirectorySeparatorChar], StringSplitOptions.RemoveEmptyEntries).Reverse())
            {
                if (part != ".")
                {
                    waiting.Push(part);
                }
            }
        }
    }
}
