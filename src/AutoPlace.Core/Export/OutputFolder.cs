namespace AutoPlace.Export;

/// <summary>
/// A folder that receives a set of files all at once. They are written into a hidden folder inside it first and moved
/// to their names by <see cref="Commit"/>; without that, disposing removes every trace. A folder that wasn't there is
/// removed again too.
/// </summary>
public sealed class OutputFolder : IDisposable
{
    private readonly string _folder;
    private readonly string _staging;
    private readonly string? _firstMade;
    private readonly List<string> _names = [];
    private bool _committed;

    /// <summary>Prepares a folder; it is made when it isn't there.</summary>
    /// <param name="folder">The folder.</param>
    /// <exception cref="OutputException">It can't be made or written to.</exception>
    public OutputFolder(string folder)
    {
        ArgumentException.ThrowIfNullOrEmpty(folder);
        _folder = System.IO.Path.GetFullPath(folder);
        _staging = System.IO.Path.Combine(_folder, $".{Guid.NewGuid():N}.tmp");
        _firstMade = FirstMissing(_folder);
        if (File.Exists(_folder))
        {
            throw new OutputException(_folder, "is a file, not a folder");
        }

        try
        {
            Guarded(_folder, () => Directory.CreateDirectory(_staging));
        }
        catch (OutputException)
        {
            Dispose();
            throw;
        }
    }

    /// <summary>Removes what processes left in a folder that were killed while they wrote. Not for a folder that another one may be writing to.</summary>
    /// <param name="folder">The folder; needn't be there.</param>
    /// <exception cref="OutputException">It can't be removed.</exception>
    public static void RemoveAbandoned(string folder)
    {
        ArgumentException.ThrowIfNullOrEmpty(folder);
        if (Directory.Exists(folder))
        {
            Guarded(folder, () =>
            {
                foreach (string staging in Directory.GetDirectories(folder, ".*.tmp").Where(path => Guid.TryParseExact(System.IO.Path.GetFileName(path)[1..^4], "N", out _)))
                {
                    Directory.Delete(staging, recursive: true);
                }
            });
        }
    }

    /// <summary>Writes a file; an older one of that name stays until <see cref="Commit"/>.</summary>
    /// <param name="name">Name of the file, without folder.</param>
    /// <param name="write">Writes its contents.</param>
    /// <exception cref="OutputException">It can't be written.</exception>
    public void Add(string name, Action<Stream> write)
    {
        ArgumentException.ThrowIfNullOrEmpty(name);
        ArgumentNullException.ThrowIfNull(write);
        Guarded(System.IO.Path.Combine(_folder, name), () =>
        {
            using var stream = new FileStream(System.IO.Path.Combine(_staging, name), FileMode.CreateNew);
            write(stream);
        });
        _names.Add(name);
    }

    /// <summary>Moves all files to their names, over older ones; the one added first comes last, so that it stands for the whole set.</summary>
    /// <exception cref="OutputException">One can't be moved; where a folder has the name, before any is moved.</exception>
    public void Commit()
    {
        if (_names.Find(name => Directory.Exists(System.IO.Path.Combine(_folder, name))) is string taken)
        {
            throw new OutputException(System.IO.Path.Combine(_folder, taken), "is a folder");
        }

        foreach (string name in Enumerable.Reverse(_names))
        {
            string path = System.IO.Path.Combine(_folder, name);
            Guarded(path, () => File.Move(System.IO.Path.Combine(_staging, name), path, overwrite: true));
        }

        _committed = true;
    }

    /// <summary>Removes what wasn't committed.</summary>
    public void Dispose()
    {
        if (Directory.Exists(_staging))
        {
            Directory.Delete(_staging, recursive: true);
        }

        if (!_committed && _firstMade is not null && Directory.Exists(_firstMade) && IsEmpty(_firstMade))
        {
            Directory.Delete(_firstMade, recursive: true);
        }
    }

    private static bool IsEmpty(string folder) => !Directory.EnumerateFiles(folder, "*", SearchOption.AllDirectories).Any();

    // The highest of the folders that have to be made for a path, or null when all are there.
    private static string? FirstMissing(string folder)
    {
        string? missing = null;
        for (string? at = folder; at is not null && !Directory.Exists(at); at = System.IO.Path.GetDirectoryName(at))
        {
            missing = at;
        }

        return missing;
    }

    private static void Guarded(string path, Action step)
    {
        try
        {
            step();
        }
        catch (Exception e) when (e is IOException or UnauthorizedAccessException or NotSupportedException)
        {
            throw new OutputException(path, e.Message, e);
        }
    }
}
