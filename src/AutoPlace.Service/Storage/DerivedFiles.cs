using AutoPlace.Service.Hosting;
using Microsoft.AspNetCore.Http.HttpResults;
using Microsoft.Net.Http.Headers;

namespace AutoPlace.Service.Storage;

/// <summary>Files that follow from what is stored: made when first asked for, kept for the next time.</summary>
internal sealed class DerivedFiles(ServiceStore store)
{
    /// <summary>A file for the answer to a request, with its hash as entity tag; ranges are served.</summary>
    /// <param name="owner">The head or placement that it goes away with.</param>
    /// <param name="name">Its name, unique for the owner.</param>
    /// <param name="type">Its media type.</param>
    /// <param name="make">Makes its contents when they aren't there yet.</param>
    public PhysicalFileHttpResult Serve(string owner, string name, string type, Func<byte[]> make) =>
        Serve(Find(owner, name) ?? Keep(owner, name, make()), type);

    /// <summary>The same where making takes a while.</summary>
    public async Task<PhysicalFileHttpResult> ServeAsync(string owner, string name, string type, Func<Task<byte[]>> make) =>
        Serve(Find(owner, name) ?? Keep(owner, name, await make()), type);

    /// <summary>A kept file as the answer to a request.</summary>
    public PhysicalFileHttpResult Serve(string sha256, string type, string? downloadName = null)
    {
        string path = store.Files.PathOf(sha256);
        return File.Exists(path)
            ? TypedResults.PhysicalFile(path, type, downloadName, entityTag: new EntityTagHeaderValue($"\"{sha256}\""), enableRangeProcessing: true)
            : throw RequestRefused.NotFound("file any more");
    }

    private string? Find(string owner, string name) => store.Database.Read(db =>
        db.One("SELECT sha256 FROM derived WHERE owner = $1 AND name = $2", row => row.GetString(0), owner, name));

    // An owner that was deleted in the meantime keeps nothing.
    private string Keep(string owner, string name, byte[] contents) => store.Database.Write(db =>
    {
        if (!db.One("SELECT EXISTS(SELECT 1 FROM heads WHERE id = $1) OR EXISTS(SELECT 1 FROM placements WHERE id = $1)", row => row.GetBoolean(0), owner))
        {
            throw RequestRefused.NotFound("head or placement any more");
        }

        string sha256 = store.Files.Keep(contents);
        db.Execute("INSERT INTO derived(owner, name, sha256) VALUES($1, $2, $3) ON CONFLICT DO NOTHING", owner, name, sha256);
        return db.One("SELECT sha256 FROM derived WHERE owner = $1 AND name = $2", row => row.GetString(0), owner, name)!;
    });
}
