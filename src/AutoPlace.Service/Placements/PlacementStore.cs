using AutoPlace.Export;
using AutoPlace.Service.Heads;
using AutoPlace.Service.Hosting;
using AutoPlace.Service.Storage;
using Microsoft.AspNetCore.Mvc;
using Microsoft.Data.Sqlite;

namespace AutoPlace.Service.Placements;

/// <summary>The placements in the data folder.</summary>
internal sealed class PlacementStore(ServiceStore store)
{
    /// <summary>A placement that was running when the process died is begun so often in all; then it is taken to be the cause.</summary>
    private const int MostAttempts = 3;

    /// <summary>The outcome of a placement that isn't made.</summary>
    public static HeadOutcome NoOutcome { get; } = new() { State = HeadEnding.Unreadable, NeedsPerson = 1, Reasons = [], Seconds = 0 };

    private const string Columns = "id, head, bulk, state, options, created, finished, error, current";

    /// <summary>All placements, newest first.</summary>
    public List<Placement> All() => store.Database.Read(db => db.All($"SELECT {Columns} FROM placements ORDER BY rowid DESC", Map));

    /// <summary>A placement.</summary>
    /// <exception cref="RequestRefused">There is none of that name.</exception>
    public Placement Get(string id) => Find(id) ?? throw RequestRefused.NotFound("placement");

    /// <summary>A placement, or null.</summary>
    public Placement? Find(string id) => store.Database.Read(db => db.One($"SELECT {Columns} FROM placements WHERE id = $1", Map, id));

    /// <summary>The placements of a head or a bulk, within a write that deletes it.</summary>
    /// <param name="db">The write.</param>
    /// <param name="column">head or bulk.</param>
    /// <param name="id">Which one.</param>
    public static List<Placement> Of(SqliteConnection db, string column, string id) =>
        db.All($"SELECT {Columns} FROM placements WHERE {column} = $1", Map, id);

    /// <summary>Names of the placements of one state, oldest first; those of bulks or the others.</summary>
    public List<string> Waiting(bool ofBulks) => store.Database.Read(db => db.All(
        $"SELECT id FROM placements WHERE state = 'queued' AND bulk IS {(ofBulks ? "NOT" : "")} NULL ORDER BY rowid", row => row.GetString(0)));

    /// <summary>The placement of a head that was made last, or null.</summary>
    public string? NewestPlaced(string head) => store.Database.Read(db => db.One(
        "SELECT id FROM placements WHERE head = $1 AND state = 'placed' ORDER BY finished DESC, rowid DESC", row => row.GetString(0), head));

    /// <summary>Adds a placement that waits.</summary>
    /// <exception cref="RequestRefused">The head was deleted.</exception>
    public Placement Add(string head, PlacementRequest options) => store.Database.Write(db =>
    {
        if (!db.One("SELECT EXISTS(SELECT 1 FROM heads WHERE id = $1)", row => row.GetBoolean(0), head))
        {
            throw RequestRefused.NotFound("head");
        }

        return Insert(db, head, null, ServiceJson.Write(options));
    });

    /// <summary>Adds one within a write.</summary>
    public static Placement Insert(SqliteConnection db, string head, string? bulk, string options)
    {
        string id = ServiceStore.NewId();
        db.Execute(
            "INSERT INTO placements(id, head, bulk, state, options, created) VALUES($1, $2, $3, 'queued', $4, $5)",
            id,
            head,
            bulk,
            options,
            HeadStore.Time(DateTimeOffset.UtcNow));
        return db.One($"SELECT {Columns} FROM placements WHERE id = $1", Map, id)!;
    }

    /// <summary>Begins a placement that waits.</summary>
    /// <returns>The placement, or null when it doesn't wait any more.</returns>
    public Placement? Begin(string id) => store.Database.Write(db =>
        db.Execute("UPDATE placements SET state = 'running', attempts = attempts + 1 WHERE id = $1 AND state = 'queued'", id) == 0
            ? null
            : db.One($"SELECT {Columns} FROM placements WHERE id = $1", Map, id));

    /// <summary>Puts a placement back that was begun and couldn't go on through no fault of its own.</summary>
    public void PutBack(string id) => store.Database.Write(db =>
        db.Execute("UPDATE placements SET state = 'queued', attempts = attempts - 1 WHERE id = $1 AND state = 'running'", id));

    /// <summary>Notes that a placement failed.</summary>
    public void Fail(string id, Exception reason, HeadOutcome outcome) => store.Database.Write(db => db.Execute(
        "UPDATE placements SET state = 'failed', error = $2, outcome = $3, finished = $4 WHERE id = $1 AND state = 'running'",
        id,
        ServiceJson.Write(Problems.Of(reason)),
        ServiceJson.Write(outcome),
        HeadStore.Time(DateTimeOffset.UtcNow)));

    /// <summary>What was running when the process ended waits again; what was running each of several times has failed.</summary>
    /// <returns>How many go on.</returns>
    public int Recover() => store.Database.Write(db =>
    {
        var reason = new RequestRefused(StatusCodes.Status500InternalServerError, "The program ended each time while this head was being placed.");
        db.Execute(
            "UPDATE placements SET state = 'failed', error = $2, outcome = $3, finished = $4 WHERE state = 'running' AND attempts >= $1",
            MostAttempts,
            ServiceJson.Write(Problems.Of(reason)),
            ServiceJson.Write(NoOutcome.With(reason)),
            HeadStore.Time(DateTimeOffset.UtcNow));
        db.Execute("UPDATE placements SET state = 'queued' WHERE state = 'running'");
        return db.One("SELECT COUNT(*) FROM placements WHERE state = 'queued'", row => row.GetInt32(0));
    });

    /// <summary>Deletes a placement with its revisions and files.</summary>
    /// <returns>False when there is none of that name.</returns>
    public bool Delete(string id)
    {
        bool found = false;
        store.Delete(db =>
        {
            List<string> files = db.All(
                "SELECT sha256 FROM revisions WHERE placement = $1 UNION SELECT sha256 FROM derived WHERE owner = $1", row => row.GetString(0), id);
            db.Execute("DELETE FROM derived WHERE owner = $1", id);
            found = db.Execute("DELETE FROM placements WHERE id = $1", id) > 0;
            return files;
        });
        return found;
    }

    /// <summary>The state of a row's word.</summary>
    public static PlacementState State(string word) => Enum.Parse<PlacementState>(word, ignoreCase: true);

    private static Placement Map(SqliteDataReader row)
    {
        PlacementState state = State(row.GetString(3));
        return new Placement
        {
            Id = row.GetString(0),
            HeadId = row.GetString(1),
            BulkId = row.Text(2),
            State = state,
            Fraction = state == PlacementState.Placed ? 1 : 0,
            Options = ServiceJson.Read<PlacementRequest>(row.GetString(4)),
            CreatedAt = HeadStore.Time(row.GetString(5)),
            FinishedAt = row.Text(6) is { } finished ? HeadStore.Time(finished) : null,
            Error = row.Text(7) is { } error ? ServiceJson.Read<ProblemDetails>(error) : null,
            Revision = row.Number(8),
        };
    }
}
