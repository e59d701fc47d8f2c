using System.Security.Cryptography;
using Microsoft.Data.Sqlite;

namespace AutoPlace.Service.Storage;

/// <summary>
/// Files named by the SHA-256 of their contents, below one folder. A file is written under a temporary name, flushed to the
/// disk and renamed before the row that names it is written, so that no row is ever without its file; a file whose row was
/// never written is removed by <see cref="StoreSweep"/>. No name that comes from outside becomes part of a path.
/// </summary>
internal sealed class ContentFiles
{
    private readonly string _folder;
    private readonly string _waiting;

    /// <summary>Prepares the folder.</summary>
    public ContentFiles(string folder)
    {
        _folder = Path.Combine(folder, "files");
        _waiting = Path.Combine(folder, "waiting");
        Directory.CreateDirectory(_folder);
        Directory.CreateDirectory(_waiting);
    }

    /// <summary>A file that isn't kept yet; opened for writing under a name that nobody else has.</summary>
    public FileStream Create() => new(
        Path.Combine(_waiting, Guid.NewGuid().ToString("N")), FileMode.CreateNew, FileAccess.ReadWrite, FileShare.Read | FileShare.Delete, 1 << 16, FileOptions.Asynchronous);

    /// <summary>The path of a kept file.</summary>
    public string PathOf(string sha256) => Path.Combine(_folder, sha256[..2], sha256);

    /// <summary>Opens a kept file.</summary>
    public FileStream Open(string sha256) => new(PathOf(sha256), FileMode.Open, FileAccess.Read, FileShare.Read | FileShare.Delete);

    /// <summary>Contents of a kept file.</summary>
    public byte[] Read(string sha256) => File.ReadAllBytes(PathOf(sha256));

    /// <summary>Keeps contents. Belongs into the write of the row that names them.</summary>
    /// <returns>SHA-256, lower-case hexadecimal.</returns>
    public string Keep(ReadOnlySpan<byte> contents)
    {
        string sha256 = Convert.ToHexStringLower(SHA256.HashData(contents));
        if (!File.Exists(PathOf(sha256)))
        {
            using FileStream file = Create();
            file.Write(contents);
            Keep(file, sha256);
        }

        return sha256;
    }

    /// <summary>Keeps a file that was written. Belongs into the write of the row that names it.</summary>
    /// <param name="file">From <see cref="Create"/>; gone from its name afterwards.</param>
    /// <param name="sha256">SHA-256 of its contents.</param>
    public void Keep(FileStream file, string sha256)
    {
        string path = PathOf(sha256);
        if (File.Exists(path))
        {
            File.Delete(file.Name);
            return;
        }

        file.Flush(flushToDisk: true);
        string folder = Path.GetDirectoryName(path)!;
        Directory.CreateDirectory(folder);
        File.Move(file.Name, path);
        DiskFlush.Folder(folder);
    }

    /// <summary>Removes those of some files that no row names any more. Belongs behind the write that deleted the rows.</summary>
    public void Release(SqliteConnection connection, IEnumerable<string> hashes)
    {
        foreach (string sha256 in hashes.Distinct(StringComparer.Ordinal).Where(hash => !IsNamed(connection, hash)))
        {
            File.Delete(PathOf(sha256));
        }
    }

    /// <summary>Hashes of all kept files.</summary>
    public IEnumerable<string> All() => Directory.EnumerateFiles(_folder, "*", SearchOption.AllDirectories).Select(path => Path.GetFileName(path));

    /// <summary>Removes a kept file.</summary>
    public void Remove(string sha256) => File.Delete(PathOf(sha256));

    /// <summary>Removes what was never kept.</summary>
    /// <returns>How many files that were.</returns>
    public int RemoveWaiting()
    {
        string[] left = Directory.GetFiles(_waiting);
        Array.ForEach(left, File.Delete);
        return left.Length;
    }

    /// <summary>Whether a row names a file.</summary>
    private static bool IsNamed(SqliteConnection connection, string sha256) => connection.One(
        """
        SELECT EXISTS(SELECT 1 FROM heads WHERE sha256 = $1) OR EXISTS(SELECT 1 FROM templates WHERE sha256 = $1)
            OR EXISTS(SELECT 1 FROM revisions WHERE sha256 = $1) OR EXISTS(SELECT 1 FROM derived WHERE sha256 = $1)
        """,
        row => row.GetBoolean(0),
        sha256);
}
