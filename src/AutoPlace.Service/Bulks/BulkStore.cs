using AutoPlace.Export;
using AutoPlace.Service.Heads;
using AutoPlace.Service.Hosting;
using AutoPlace.Service.Placements;
using AutoPlace.Service.Storage;
using Microsoft.Data.Sqlite;

namespace AutoPlace.Service.Bulks;

/// <summary>The bulks in the data folder. Their heads are placements that know their bulk.</summary>
internal sealed class BulkStore(ServiceStore store, ServiceOptions options)
{
    /// <summary>Bulks that may be under way at the same time.</summary>
    private const int MostRunning = 4;

    private const string Unfinished = "state IN ('queued', 'running')";

    private const string Summary = $"""
        SELECT b.id, b.created, COUNT(p.id), COUNT(CASE WHEN p.{Unfinished} THEN 1 END), AVG(json_extract(p.outcome, '$.seconds'))
        FROM bulks b LEFT JOIN placements p ON p.bulk = b.id
        """;

    /// <summary>All bulks, newest first.</summary>
    public List<Bulk> All() => store.Database.Read(db => db.All($"{Summary} GROUP BY b.id ORDER BY b.rowid DESC", Map));

    /// <summary>A bulk with its rows.</summary>
    /// <exception cref="RequestRefused">There is none of that name.</exception>
    public Bulk Get(string id) => store.Database.Read(db =>
    {
        Bulk bulk = db.One($"{Summary} WHERE b.id = $1 GROUP BY b.id", Map, id) ?? throw RequestRefused.NotFound("bulk");
        return bulk with { Rows = Rows(db, id) };
    });

    /// <summary>The report on the heads that are done, as a table.</summary>
    public string Csv(string id) => HeadReport.Csv(store.Database.Read(db =>
        db.One("SELECT id FROM bulks WHERE id = $1", row => row.GetString(0), id) is null ? throw RequestRefused.NotFound("bulk") : Reported(db, id)).Select(head => head.Reported));

    /// <summary>Adds a bulk: all its heads or none.</summary>
    /// <returns>The bulk and its placements, which wait.</returns>
    /// <exception cref="RequestRefused">A head isn't there or named twice, or there are too many.</exception>
    public (Bulk Bulk, List<string> Placements) Add(BulkRequest request)
    {
        Check(request);
        string wanted = ServiceJson.Write<PlacementRequest>(request);
        return store.Database.Write(db =>
        {
            if (db.One($"SELECT COUNT(DISTINCT bulk) FROM placements WHERE bulk IS NOT NULL AND {Unfinished}", row => row.GetInt32(0)) >= MostRunning)
            {
                throw new RequestRefused(StatusCodes.Status429TooManyRequests, $"{MostRunning} bulks are under way.") { RetryAfter = 60 };
            }

            string id = ServiceStore.NewId();
            db.Execute("INSERT INTO bulks(id, created) VALUES($1, $2)", id, HeadStore.Time(DateTimeOffset.UtcNow));
            var placements = new List<string>(request.Heads.Count);
            foreach (string head in request.Heads)
            {
                placements.Add(db.One("SELECT EXISTS(SELECT 1 FROM heads WHERE id = $1)", row => row.GetBoolean(0), head)
                    ? PlacementStore.Insert(db, head, id, wanted).Id
                    : throw RequestRefused.Unusable(head, "there is no such head"));
            }

            return (db.One($"{Summary} WHERE b.id = $1 GROUP BY b.id", Map, id)!, placements);
        });
    }

    /// <summary>Deletes a bulk with its placements and their files.</summary>
    /// <returns>The placements that it had, or null when there is none of that name.</returns>
    public List<Placement>? Delete(string id)
    {
        List<Placement>? placements = null;
        store.Delete(db =>
        {
            placements = PlacementStore.Of(db, "bulk", id);
            List<string> files = db.All(
                """
                SELECT sha256 FROM revisions WHERE placement IN (SELECT id FROM placements WHERE bulk = $1)
                UNION SELECT sha256 FROM derived WHERE owner IN (SELECT id FROM placements WHERE bulk = $1)
                """,
                row => row.GetString(0),
                id);
            db.Execute("DELETE FROM derived WHERE owner IN (SELECT id FROM placements WHERE bulk = $1)", id);
            placements = db.Execute("DELETE FROM bulks WHERE id = $1", id) > 0 ? placements : null;
            return files;
        });
        return placements;
    }

    private void Check(BulkRequest request)
    {
        if (request.Heads.Count is 0 || request.Heads.Count > options.MostBulkHeads)
        {
            throw RequestRefused.Unusable("heads", $"a bulk has one to {options.MostBulkHeads} heads");
        }

        var seen = new HashSet<string>(StringComparer.Ordinal);
        if (request.Heads.FirstOrDefault(head => !seen.Add(head)) is { } twice)
        {
            throw RequestRefused.Unusable(twice, "is named twice");
        }

        if (request.Corrections is { ValueKind: not System.Text.Json.JsonValueKind.Null })
        {
            throw RequestRefused.Unusable("corrections", "belong to one head");
        }
    }

    private static List<BulkRow> Rows(SqliteConnection db, string id)
    {
        List<BulkRow> done = [.. Reported(db, id).Select(head => Row(head.Reported, head.Head, head.Placement, head.State))];
        return [.. done, .. db.All(
            $"SELECT h.id, h.name, p.id, p.state FROM placements p JOIN heads h ON h.id = p.head WHERE p.bulk = $1 AND p.outcome IS NULL ORDER BY p.rowid",
            row => new BulkRow(row.GetString(0), row.GetString(1), row.GetString(2), PlacementStore.State(row.GetString(3)), null, false, 0, 0, [], [], null),
            id)];
    }

    private static List<(ReportedHead Reported, string Head, string Placement, PlacementState State)> Reported(SqliteConnection db, string id)
    {
        var byPlacement = db.All(
            "SELECT p.id, h.id, h.name, p.state, p.outcome FROM placements p JOIN heads h ON h.id = p.head WHERE p.bulk = $1 AND p.outcome IS NOT NULL",
            row => (Placement: row.GetString(0), Head: row.GetString(1), Name: row.GetString(2), State: PlacementStore.State(row.GetString(3)), Outcome: ServiceJson.Read<HeadOutcome>(row.GetString(4))),
            id).ToDictionary(row => row.Placement, StringComparer.Ordinal);

        // Names of heads may be equal; placements' are not.
        return [.. HeadReport.WorstFirst(byPlacement.Values.Select(row => new ReportedHead(row.Placement, row.Name, row.Outcome)))
            .Select(head => (head with { Name = byPlacement[head.Name].Name, File = byPlacement[head.Name].Head }, byPlacement[head.Name].Head, head.Name, byPlacement[head.Name].State))];
    }

    private static BulkRow Row(ReportedHead head, string id, string placement, PlacementState state) => new(
        id,
        head.Name,
        placement,
        state,
        head.Outcome.NeedsPerson,
        head.Outcome.IsDoubtful,
        head.Outcome.Errors,
        head.Outcome.Warnings,
        head.Outcome.Reasons,
        head.Outcome.Findings,
        head.Outcome.Seconds);

    private Bulk Map(SqliteDataReader row)
    {
        (int total, int left) = (row.GetInt32(2), row.GetInt32(3));
        return new Bulk
        {
            Id = row.GetString(0),
            CreatedAt = HeadStore.Time(row.GetString(1)),
            State = left > 0 ? BulkState.Running : BulkState.Done,
            Total = total,
            Done = total - left,
            SecondsLeft = left > 0 && !row.IsDBNull(4) ? Math.Round(row.GetDouble(4) * left / options.Workers, 1) : null,
        };
    }
}
