using AutoPlace.Export;
using AutoPlace.Service.Heads;
using AutoPlace.Service.Hosting;
using AutoPlace.Service.Storage;
using Microsoft.Data.Sqlite;

namespace AutoPlace.Service.Revisions;

/// <summary>A revision as stored.</summary>
/// <param name="Revision">The revision, without corrections.</param>
/// <param name="Corrections">Its corrections.json.</param>
/// <param name="Sha256">SHA-256 of its placement.json.</param>
internal sealed record StoredRevision(PlacementRevision Revision, string Corrections, string Sha256);

/// <summary>A revision to store.</summary>
internal sealed record NewRevision
{
    public int? Base { get; init; }

    public string? Note { get; init; }

    public int? Restores { get; init; }

    /// <summary>The edits, JSON.</summary>
    public required string Edits { get; init; }

    /// <summary>Contents of corrections.json.</summary>
    public required string Corrections { get; init; }

    /// <summary>Contents of placement.json.</summary>
    public required ReadOnlyMemory<byte> Placement { get; init; }

    public required double SolveMs { get; init; }
}

/// <summary>The revisions in the data folder.</summary>
internal sealed class RevisionStore(ServiceStore store)
{
    private const string Columns = "number, base, created, name, note, restores, edits, solve_ms, corrections, sha256";

    /// <summary>A revision.</summary>
    /// <exception cref="RequestRefused">There is none of that number.</exception>
    public StoredRevision Get(string placement, int number) => store.Database.Read(db => Find(db, placement, number)) ?? throw RequestRefused.NotFound("revision");

    /// <summary>All revisions, oldest first.</summary>
    public List<StoredRevision> All(string placement) => store.Database.Read(db =>
        db.All($"SELECT {Columns} FROM revisions WHERE placement = $1 ORDER BY number", Map, placement));

    /// <summary>Contents of a revision's placement.json.</summary>
    /// <exception cref="RequestRefused">The file isn't there any more.</exception>
    public byte[] Placement(StoredRevision revision)
    {
        try
        {
            return store.Files.Read(revision.Sha256);
        }
        catch (Exception e) when (e is FileNotFoundException or DirectoryNotFoundException)
        {
            throw RequestRefused.NotFound("file any more");
        }
    }

    /// <summary>Stores the first revision: the placement is made.</summary>
    /// <param name="placement">The placement.</param>
    /// <param name="first">Its first revision.</param>
    /// <param name="outcome">What the report of a bulk says of it.</param>
    /// <returns>False when it isn't being made any more.</returns>
    public bool Complete(string placement, NewRevision first, HeadOutcome outcome) => store.Database.Write(db =>
    {
        if (db.Execute(
            "UPDATE placements SET state = 'placed', finished = $2, outcome = $3, current = 1 WHERE id = $1 AND state = 'running'",
            placement,
            HeadStore.Time(DateTimeOffset.UtcNow),
            ServiceJson.Write(outcome)) == 0)
        {
            return false;
        }

        Insert(db, placement, 1, first);
        return true;
    });

    /// <summary>Stores a revision after the one that it was made from.</summary>
    /// <exception cref="RequestRefused">That one isn't the current one any more.</exception>
    public StoredRevision Add(string placement, NewRevision revision) => store.Database.Write(db =>
    {
        int number = revision.Base!.Value + 1;
        if (db.Execute("UPDATE placements SET current = $3 WHERE id = $1 AND current = $2", placement, revision.Base, number) == 0)
        {
            throw Stale(db.One("SELECT current FROM placements WHERE id = $1", row => row.Number(0), placement));
        }

        Insert(db, placement, number, revision);
        return Find(db, placement, number)!;
    });

    /// <summary>Gives a revision a name.</summary>
    /// <exception cref="RequestRefused">There is none of that number.</exception>
    public StoredRevision Name(string placement, int number, string? name) => store.Database.Write(db =>
    {
        db.Execute("UPDATE revisions SET name = $3 WHERE placement = $1 AND number = $2", placement, number, name);
        return Find(db, placement, number) ?? throw RequestRefused.NotFound("revision");
    });

    /// <summary>The refusal of edits on another revision than the current one.</summary>
    public static RequestRefused Stale(int? current) => current is null
        ? RequestRefused.NotFound("placement any more")
        : new RequestRefused(StatusCodes.Status409Conflict, $"The current revision is {current}; it was made after the one that was edited.") { Current = current };

    private void Insert(SqliteConnection db, string placement, int number, NewRevision revision) => db.Execute(
        """
        INSERT INTO revisions(placement, number, base, created, note, restores, edits, corrections, sha256, solve_ms)
        VALUES($1, $2, $3, $4, $5, $6, $7, $8, $9, $10)
        """,
        placement,
        number,
        revision.Base,
        HeadStore.Time(DateTimeOffset.UtcNow),
        revision.Note,
        revision.Restores,
        revision.Edits,
        revision.Corrections,
        store.Files.Keep(revision.Placement.Span),
        Math.Round(revision.SolveMs, 2));

    private static StoredRevision? Find(SqliteConnection db, string placement, int number) =>
        db.One($"SELECT {Columns} FROM revisions WHERE placement = $1 AND number = $2", Map, placement, number);

    private static StoredRevision Map(SqliteDataReader row) => new(
        new PlacementRevision
        {
            Number = row.GetInt32(0),
            Base = row.Number(1),
            CreatedAt = HeadStore.Time(row.GetString(2)),
            Name = row.Text(3),
            Note = row.Text(4),
            Restores = row.Number(5),
            Edits = ServiceJson.Raw(System.Text.Encoding.UTF8.GetBytes(row.GetString(6))),
            SolveMs = row.GetDouble(7),
        },
        row.GetString(8),
        row.GetString(9));
}
