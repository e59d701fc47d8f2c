using System.Globalization;
using AutoPlace.Import;
using AutoPlace.Service.Hosting;
using AutoPlace.Service.Placements;
using AutoPlace.Service.Storage;
using Microsoft.Data.Sqlite;

namespace AutoPlace.Service.Heads;

/// <summary>The heads in the data folder.</summary>
internal sealed class HeadStore(ServiceStore store)
{
    private const string Columns = "id, name, bytes, sha256, format, vertices, faces, parts, metres, created";

    private const string IsUnused = """
        created < $1 AND NOT EXISTS(SELECT 1 FROM placements p WHERE p.head = heads.id AND (p.created >= $1 OR p.state IN ('queued', 'running')
            OR EXISTS(SELECT 1 FROM revisions r WHERE r.placement = p.id AND r.created >= $1)))
        """;

    /// <summary>All heads, newest first.</summary>
    public List<Head> All() => store.Database.Read(db => db.All($"SELECT {Columns} FROM heads ORDER BY rowid DESC", Map));

    /// <summary>A head, or null.</summary>
    public Head? Find(string id) => store.Database.Read(db => db.One($"SELECT {Columns} FROM heads WHERE id = $1", Map, id));

    /// <summary>A head.</summary>
    /// <exception cref="RequestRefused">There is none of that name.</exception>
    public Head Get(string id) => Find(id) ?? throw RequestRefused.NotFound("head");

    /// <summary>Keeps an uploaded file as a head.</summary>
    /// <param name="file">The file; taken over.</param>
    /// <param name="scan">What is in it.</param>
    public Head Add(FileStream file, HeadScan scan)
    {
        var head = new Head
        {
            Id = ServiceStore.NewId(),
            Name = scan.Source,
            Bytes = file.Length,
            Sha256 = scan.Sha256,
            Format = scan.Format.ToString().ToLowerInvariant(),
            Vertices = scan.Mesh.VertexCount,
            Faces = scan.Mesh.FaceCount,
            Parts = PartsOf(scan),
            MetresPerUnit = scan.MetresPerUnit,
            CreatedAt = DateTimeOffset.UtcNow,
        };
        return store.Database.Write(db =>
        {
            store.Files.Keep(file, head.Sha256);
            db.Execute(
                $"INSERT INTO heads({Columns}) VALUES($1, $2, $3, $4, $5, $6, $7, $8, $9, $10)",
                head.Id,
                head.Name,
                head.Bytes,
                head.Sha256,
                head.Format,
                head.Vertices,
                head.Faces,
                ServiceJson.Write(head.Parts),
                head.MetresPerUnit,
                Time(head.CreatedAt));
            return head;
        });
    }

    /// <summary>Reads a head's file.</summary>
    /// <exception cref="MeshFormatException">The file isn't there any more.</exception>
    public HeadScan Scan(Head head)
    {
        try
        {
            using FileStream file = store.Files.Open(head.Sha256);
            return MeshReader.Read(file, head.Name);
        }
        catch (IOException e)
        {
            throw new MeshFormatException(head.Name, null, "the stored file isn't there any more", e);
        }
    }

    /// <summary>Deletes a head with its placements, revisions and all files of them.</summary>
    /// <param name="id">The head.</param>
    /// <param name="unusedSince">Only when nobody uploaded, placed or corrected it since then; null in any case.</param>
    /// <returns>The placements that it had, or null when there is no such head.</returns>
    public List<Placement>? Delete(string id, DateTimeOffset? unusedSince = null)
    {
        List<Placement>? placements = null;
        store.Delete(db =>
        {
            string condition = unusedSince is null ? "$1 IS NULL" : IsUnused;
            if (!db.One($"SELECT EXISTS(SELECT 1 FROM heads WHERE id = $2 AND {condition})", row => row.GetBoolean(0), unusedSince is { } time ? Time(time) : null, id))
            {
                return [];
            }

            placements = PlacementStore.Of(db, "head", id);
            List<string> files = db.All(
                """
                SELECT sha256 FROM heads WHERE id = $1
                UNION SELECT sha256 FROM revisions WHERE placement IN (SELECT id FROM placements WHERE head = $1)
                UNION SELECT sha256 FROM derived WHERE owner = $1 OR owner IN (SELECT id FROM placements WHERE head = $1)
                """,
                row => row.GetString(0),
                id);
            db.Execute("DELETE FROM derived WHERE owner = $1 OR owner IN (SELECT id FROM placements WHERE head = $1)", id);
            db.Execute("DELETE FROM heads WHERE id = $1", id);
            return files;
        });
        return placements;
    }

    /// <summary>Heads that nobody uploaded, placed or corrected since a time.</summary>
    public List<string> UnusedSince(DateTimeOffset time) => store.Database.Read(db => db.All(
        $"SELECT id FROM heads WHERE {IsUnused}", row => row.GetString(0), Time(time)));

    /// <summary>A time as text that sorts by time.</summary>
    public static string Time(DateTimeOffset time) => time.UtcDateTime.ToString("O", CultureInfo.InvariantCulture);

    /// <summary>The time of such a text.</summary>
    public static DateTimeOffset Time(string text) => DateTimeOffset.Parse(text, CultureInfo.InvariantCulture, DateTimeStyles.RoundtripKind);

    private static Head Map(SqliteDataReader row) => new()
    {
        Id = row.GetString(0),
        Name = row.GetString(1),
        Bytes = row.GetInt64(2),
        Sha256 = row.GetString(3),
        Format = row.GetString(4),
        Vertices = row.GetInt32(5),
        Faces = row.GetInt32(6),
        Parts = ServiceJson.Read<IReadOnlyList<HeadPart>>(row.GetString(7)),
        MetresPerUnit = row.IsDBNull(8) ? null : row.GetDouble(8),
        CreatedAt = Time(row.GetString(9)),
    };

    private static HeadPart[] PartsOf(HeadScan scan)
    {
        int[] faces = new int[scan.Parts.Count];
        HashSet<int>[] vertices = [.. scan.Parts.Select(_ => new HashSet<int>())];
        for (int f = 0; f < scan.Mesh.FaceCount; f++)
        {
            int part = scan.FaceParts[f];
            faces[part]++;
            foreach (int vertex in scan.Mesh.Face(f))
            {
                vertices[part].Add(vertex);
            }
        }

        return [.. scan.Parts.Select((part, i) => new HeadPart(part.Name, vertices[i].Count, faces[i]))];
    }
}
