namespace AutoPlace.Service;

/// <summary>Settings of the service. Change them by <c>with</c>.</summary>
public sealed record ServiceOptions
{
    /// <summary>Address used when none is given: only this computer reaches it.</summary>
    public const string DefaultUrl = "http://127.0.0.1:5317";

    /// <summary>Addresses to listen on. Another than a loopback address needs an <see cref="ApiKey"/>.</summary>
    public IReadOnlyList<string> Urls { get; init; } = [DefaultUrl];

    /// <summary>Folder that keeps everything: the database and the files.</summary>
    public required string DataFolder { get; init; }

    /// <summary>Key that every request but those for health has to bring; null for none.</summary>
    public string? ApiKey { get; init; }

    /// <summary>How long a head is kept after it was last uploaded, placed or corrected; null for as long as nobody deletes it.</summary>
    public TimeSpan? Retention { get; init; }

    /// <summary>Largest head file, bytes.</summary>
    public long MostHeadBytes { get; init; } = 256L << 20;

    /// <summary>Largest template, bytes.</summary>
    public long MostTemplateBytes { get; init; } = 64L << 20;

    /// <summary>Largest body of any other request, bytes.</summary>
    public long MostRequestBytes { get; init; } = 4L << 20;

    /// <summary>Most placements that wait; one more is refused with 429.</summary>
    public int MostQueued { get; init; } = 64;

    /// <summary>Most heads in one bulk.</summary>
    public int MostBulkHeads { get; init; } = 10_000;

    /// <summary>Placements made at the same time, 1 or 2. Each of them uses all cores.</summary>
    public int Workers { get; init; } = Math.Clamp(Environment.ProcessorCount, 1, 2);

    /// <summary>Placed heads that are kept open, ready for corrections within milliseconds.</summary>
    public int OpenHeads { get; init; } = 6;

    /// <summary>Requests that one address may make at once; that many more become free each two seconds.</summary>
    public int MostRequestsAtOnce { get; init; } = 400;

    /// <summary>Longest time that a request may take, streams of events apart.</summary>
    public TimeSpan MostRequestTime { get; init; } = TimeSpan.FromMinutes(2);

    /// <summary>Folder of the editor's files, or null when it wasn't built.</summary>
    public string? EditorFolder { get; init; } = FolderBeside("editor", "index.html");

    /// <summary>Folder of the demonstration heads, or null when there is none.</summary>
    public string? DemoFolder { get; init; } = FolderBeside("demo", null);

    private static string? FolderBeside(string name, string? needed)
    {
        string folder = Path.Combine(AppContext.BaseDirectory, name);
        return Directory.Exists(folder) && (needed is null || File.Exists(Path.Combine(folder, needed))) ? folder : null;
    }
}
