using System.Globalization;
using Microsoft.Data.Sqlite;

namespace AutoPlace.Service.Storage;

/// <summary>
/// The service's tables in one SQLite file. Many may read at once, one writes at a time; what a write has returned from is
/// on the disk (write-ahead log, synchronised at each commit).
/// </summary>
internal sealed class ServiceDatabase
{
    private const int SchemaVersion = 1;

    private const string Schema = """
        CREATE TABLE heads(
            id TEXT PRIMARY KEY, name TEXT NOT NULL, bytes INTEGER NOT NULL, sha256 TEXT NOT NULL, format TEXT NOT NULL,
            vertices INTEGER NOT NULL, faces INTEGER NOT NULL, parts TEXT NOT NULL, metres REAL, created TEXT NOT NULL);
        CREATE TABLE templates(
            id TEXT PRIMARY KEY, name TEXT NOT NULL, version TEXT NOT NULL, joints INTEGER NOT NULL, sha256 TEXT NOT NULL,
            created TEXT NOT NULL);
        CREATE TABLE bulks(id TEXT PRIMARY KEY, created TEXT NOT NULL);
        CREATE TABLE placements(
            id TEXT PRIMARY KEY, head TEXT NOT NULL REFERENCES heads(id) ON DELETE CASCADE,
            bulk TEXT REFERENCES bulks(id) ON DELETE CASCADE, state TEXT NOT NULL, options TEXT NOT NULL, created TEXT NOT NULL,
            finished TEXT, error TEXT, outcome TEXT, current INTEGER, attempts INTEGER NOT NULL DEFAULT 0);
        CREATE INDEX placements_head ON placements(head);
        CREATE INDEX placements_bulk ON placements(bulk);
        CREATE TABLE revisions(
            placement TEXT NOT NULL REFERENCES placements(id) ON DELETE CASCADE, number INTEGER NOT NULL, base INTEGER,
            created TEXT NOT NULL, name TEXT, note TEXT, restores INTEGER, edits TEXT NOT NULL, corrections TEXT NOT NULL,
            sha256 TEXT NOT NULL, solve_ms REAL NOT NULL, PRIMARY KEY(placement, number));
        CREATE TABLE derived(owner TEXT NOT NULL, name TEXT NOT NULL, sha256 TEXT NOT NULL, PRIMARY KEY(owner, name));
        CREATE INDEX heads_file ON heads(sha256);
        CREATE INDEX templates_file ON templates(sha256);
        CREATE INDEX revisions_file ON revisions(sha256);
        CREATE INDEX derived_file ON derived(sha256);
        """;

    private readonly string _connection;
    private readonly Lock _writing = new();

    /// <summary>Opens the database; it is made when it isn't there.</summary>
    /// <param name="path">Its file.</param>
    /// <exception cref="InvalidOperationException">It was made by a later version of the program.</exception>
    public ServiceDatabase(string path)
    {
        _connection = new SqliteConnectionStringBuilder { DataSource = path, Pooling = true, ForeignKeys = true }.ToString();
        using SqliteConnection connection = Open();
        connection.Execute("PRAGMA journal_mode = WAL");
        long version = connection.One("PRAGMA user_version", row => row.GetInt64(0));
        if (version > SchemaVersion)
        {
            throw new InvalidOperationException($"{path} was made by a later version of the program.");
        }

        if (version == 0)
        {
            using SqliteTransaction transaction = connection.BeginTransaction();
            connection.Execute(Schema);
            connection.Execute(string.Create(CultureInfo.InvariantCulture, $"PRAGMA user_version = {SchemaVersion}"));
            transaction.Commit();
        }
    }

    /// <summary>Reads.</summary>
    public T Read<T>(Func<SqliteConnection, T> read)
    {
        using SqliteConnection connection = Open();
        return read(connection);
    }

    /// <summary>Writes, all or nothing; files that belong to the rows are moved and deleted in here as well.</summary>
    /// <param name="write">What to write; when it throws, nothing is.</param>
    public T Write<T>(Func<SqliteConnection, T> write)
    {
        lock (_writing)
        {
            using SqliteConnection connection = Open();
            using SqliteTransaction transaction = connection.BeginTransaction();
            T result = write(connection);
            transaction.Commit();
            return result;
        }
    }

    /// <summary>Does something while nobody writes.</summary>
    public void Alone(Action<SqliteConnection> act)
    {
        lock (_writing)
        {
            using SqliteConnection connection = Open();
            act(connection);
        }
    }

    /// <summary>Closes all connections.</summary>
    public void Close()
    {
        using var any = new SqliteConnection(_connection);
        SqliteConnection.ClearPool(any);
    }

    // What is deleted is overwritten: heads of people are personal data.
    private SqliteConnection Open()
    {
        var connection = new SqliteConnection(_connection);
        connection.Open();
        connection.Execute("PRAGMA synchronous = FULL; PRAGMA secure_delete = ON; PRAGMA busy_timeout = 5000");
        return connection;
    }
}
