using System.Collections.Concurrent;
using AutoPlace.Service.Heads;
using AutoPlace.Service.Hosting;
using AutoPlace.Service.Storage;
using AutoPlace.Template;

namespace AutoPlace.Service.Templates;

/// <summary>A template that can be placed.</summary>
/// <param name="Id">Opaque name.</param>
/// <param name="Name">Its name.</param>
/// <param name="Version">Its version.</param>
/// <param name="Joints">Number of its joints.</param>
/// <param name="BuiltIn">True for the one that comes with the program.</param>
public sealed record StoredTemplate(string Id, string Name, string Version, int Joints, bool BuiltIn);

/// <summary>All templates.</summary>
/// <param name="Templates">The built-in one first, then the newest.</param>
public sealed record TemplateList(IReadOnlyList<StoredTemplate> Templates);

/// <summary>The templates in the data folder, and the built-in one.</summary>
internal sealed class TemplateStore(ServiceStore store)
{
    /// <summary>Name of the built-in template.</summary>
    public const string BuiltInId = "built-in";

    /// <summary>Templates kept in memory, so that the pipeline prepares one once for many heads.</summary>
    private const int MostLoaded = 8;

    private readonly Lazy<StoredTemplate> _builtIn = new(() => Describe(BuiltInId, BuiltInTemplate.Load(), true));
    private readonly ConcurrentDictionary<string, TemplateHead> _loaded = new(StringComparer.Ordinal);

    /// <summary>All templates.</summary>
    public TemplateList All() => new([_builtIn.Value, .. store.Database.Read(db => db.All(
        "SELECT id, name, version, joints FROM templates ORDER BY rowid DESC",
        row => new StoredTemplate(row.GetString(0), row.GetString(1), row.GetString(2), row.GetInt32(3), false)))]);

    /// <summary>A template for the pipeline; null for the built-in one.</summary>
    /// <exception cref="RequestRefused">There is none of that name.</exception>
    public TemplateHead? Find(string? id)
    {
        if (id is null or BuiltInId)
        {
            return null;
        }

        if (_loaded.TryGetValue(id, out TemplateHead? known))
        {
            return known;
        }

        (string sha256, string name) = store.Database.Read(db =>
            db.One("SELECT sha256, name FROM templates WHERE id = $1", row => (row.GetString(0), row.GetString(1)), id));
        if (sha256 is null)
        {
            throw RequestRefused.Unusable("template", "there is no such template");
        }

        if (_loaded.Count >= MostLoaded)
        {
            _loaded.Clear();
        }

        return _loaded.GetOrAdd(id, TemplateReader.Read(name, store.Files.Read(sha256)));
    }

    /// <summary>Keeps a template.</summary>
    /// <param name="json">Contents of its file.</param>
    /// <exception cref="TemplateFormatException">It isn't one, or lacks what placing needs.</exception>
    public StoredTemplate Add(ReadOnlyMemory<byte> json)
    {
        TemplateHead template = TemplateReader.Read("template", json);
        LatticeRules.CheckHead("template", template);
        StoredTemplate stored = Describe(ServiceStore.NewId(), template, false);
        return store.Database.Write(db =>
        {
            db.Execute(
                "INSERT INTO templates(id, name, version, joints, sha256, created) VALUES($1, $2, $3, $4, $5, $6)",
                stored.Id,
                stored.Name,
                stored.Version,
                stored.Joints,
                store.Files.Keep(json.Span),
                HeadStore.Time(DateTimeOffset.UtcNow));
            return stored;
        });
    }

    /// <summary>Deletes a template.</summary>
    /// <exception cref="RequestRefused">There is none of that name, it is built in, or placements were made with it.</exception>
    public void Delete(string id)
    {
        if (id == BuiltInId)
        {
            throw new RequestRefused(StatusCodes.Status409Conflict, "The built-in template stays.");
        }

        store.Delete(db =>
        {
            if (db.One("SELECT EXISTS(SELECT 1 FROM placements WHERE json_extract(options, '$.template') = $1)", row => row.GetBoolean(0), id))
            {
                throw new RequestRefused(StatusCodes.Status409Conflict, "Placements were made with this template, and need it to be corrected.");
            }

            List<string> files = db.All("SELECT sha256 FROM templates WHERE id = $1", row => row.GetString(0), id);
            return db.Execute("DELETE FROM templates WHERE id = $1", id) > 0 ? files : throw RequestRefused.NotFound("template");
        });
        _loaded.TryRemove(id, out _);
    }

    private static StoredTemplate Describe(string id, TemplateHead template, bool builtIn) =>
        new(id, template.Name, template.Version, template.Lattice.Joints.Count, builtIn);
}
