using Microsoft.Data.Sqlite;

namespace AutoPlace.Service.Storage;

/// <summary>Everything that outlives the process: tables and files below the data folder. One process at a time has it.</summary>
internal sealed class ServiceStore : IDisposable
{
    private readonly FileStream _lock;

    /// <summary>Opens the data folder; it is made when it isn't there.</summary>
    /// <param name="folder">The folder.</param>
    /// <exception cref="IOException">Another process has it, or it can't be written to.</exception>
    public ServiceStore(string folder)
    {
        MakeForOwner(folder);
        _lock = new FileStream(Path.Combine(folder, "lock"), FileMode.OpenOrCreate, FileAccess.ReadWrite, FileShare.None);
        Files = new ContentFiles(folder);
        Database = new ServiceDatabase(Path.Combine(folder, "autoplace.db"));
        Swept = StoreSweep.Run(Database, Files);
    }

    /// <summary>The tables.</summary>
    public ServiceDatabase Database { get; }

    /// <summary>The files.</summary>
    public ContentFiles Files { get; }

    /// <summary>What was out of order when the folder was opened.</summary>
    public SweepOutcome Swept { get; }

    /// <summary>A name for something new: 80 random bits in lower-case hexadecimal.</summary>
    public static string NewId() => Convert.ToHexStringLower(System.Security.Cryptography.RandomNumberGenerator.GetBytes(10));

    /// <summary>Deletes rows and the files that only they named, from the write-ahead log too.</summary>
    /// <param name="delete">Deletes the rows and returns the files that they named.</param>
    public void Delete(Func<SqliteConnection, IReadOnlyCollection<string>> delete)
    {
        IReadOnlyCollection<string> files = Database.Write(delete);
        Database.Alone(connection =>
        {
            Files.Release(connection, files);
            connection.Execute("PRAGMA wal_checkpoint(TRUNCATE)");
        });
    }

    /// <inheritdoc/>
    public void Dispose()
    {
        Database.Close();
        _lock.Dispose();
    }

    // Heads of people are nobody else's business; a folder that was there already keeps its rights.
    private static void MakeForOwner(string folder)
    {
        if (OperatingSystem.IsWindows())
        {
            Directory.CreateDirectory(folder);
        }
        else
        {
            Directory.CreateDirectory(folder, UnixFileMode.UserRead | UnixFileMode.UserWrite | UnixFileMode.UserExecute);
        }
    }
}
