using AutoPlace.Service.Hosting;

namespace AutoPlace.Service.Heads;

/// <summary>A head that comes with the program.</summary>
/// <param name="Name">Name of its file.</param>
/// <param name="Bytes">Size of its file.</param>
public sealed record DemoHead(string Name, long Bytes);

/// <summary>The heads that come with the program.</summary>
/// <param name="Heads">The heads, by name.</param>
public sealed record DemoHeadList(IReadOnlyList<DemoHead> Heads);

/// <summary>The demonstration heads beside the program; which ones there are is looked up once.</summary>
internal sealed class DemoHeads(ServiceOptions options)
{
    private readonly SortedDictionary<string, FileInfo> _files = Found(options.DemoFolder);

    /// <summary>All of them.</summary>
    public DemoHeadList List() => new([.. _files.Select(file => new DemoHead(file.Key, file.Value.Length))]);

    /// <summary>Opens one.</summary>
    /// <exception cref="RequestRefused">There is none of that name.</exception>
    public Stream Open(string name) => _files.TryGetValue(name, out FileInfo? file) ? file.OpenRead() : throw RequestRefused.NotFound("demonstration head");

    private static SortedDictionary<string, FileInfo> Found(string? folder)
    {
        var files = new SortedDictionary<string, FileInfo>(StringComparer.Ordinal);
        foreach (FileInfo file in folder is null ? [] : new DirectoryInfo(folder).GetFiles())
        {
            files.Add(file.Name, file);
        }

        return files;
    }
}
