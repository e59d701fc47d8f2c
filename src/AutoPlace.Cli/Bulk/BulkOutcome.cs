using System.Globalization;
using System.Text.Json;
using System.Text.Json.Serialization;
using AutoPlace.Export;
using AutoPlace.Verification;

namespace AutoPlace.Cli.Bulk;

/// <summary>How placing one of many heads ended.</summary>
internal enum BulkState
{
    /// <summary>A lattice was placed.</summary>
    Placed,

    /// <summary>The file shows no head.</summary>
    NoHead,

    /// <summary>The file can't be read.</summary>
    Unreadable,
}

/// <summary>What came of one of many heads; kept in its folder, so that an interrupted run can go on.</summary>
internal sealed record BulkOutcome
{
    /// <summary>From this probability on a person should look: one head in five like it needs correcting.</summary>
    internal const double LeastDoubt = 0.2;

    /// <summary>Name of its file in the head's folder; written last.</summary>
    internal const string FileName = "outcome.json";

    private static readonly JsonSerializerOptions Options = new()
    {
        WriteIndented = true,
        Converters = { new JsonStringEnumConverter(JsonNamingPolicy.KebabCaseLower) },
        PropertyNamingPolicy = JsonNamingPolicy.CamelCase,
    };

    /// <summary>The head's file.</summary>
    public required string Source { get; init; }

    /// <summary>SHA-256 of the head's file; empty when it can't be opened.</summary>
    public required string Sha256 { get; init; }

    /// <summary>Program and options that it was placed with.</summary>
    public required string MadeWith { get; init; }

    /// <summary>How it ended.</summary>
    public required BulkState State { get; init; }

    /// <summary>Probability in [0, 1] that the placement needs correcting; 1 without one.</summary>
    public required double NeedsPerson { get; init; }

    /// <summary>Why, for a person.</summary>
    public required IReadOnlyList<string> Reasons { get; init; }

    /// <summary>Number of findings of severity error.</summary>
    public int Errors { get; init; }

    /// <summary>Number of findings of severity warning.</summary>
    public int Warnings { get; init; }

    /// <summary>What the worst findings say.</summary>
    public IReadOnlyList<string> Findings { get; init; } = [];

    /// <summary>How long it took.</summary>
    public required double Seconds { get; init; }

    /// <summary>True when somebody has to look.</summary>
    [JsonIgnore]
    public bool IsDoubtful => State != BulkState.Placed || NeedsPerson >= LeastDoubt || Errors > 0;

    /// <summary>How it ended, for a person.</summary>
    [JsonIgnore]
    public string Ending => State switch
    {
        BulkState.Placed => string.Create(CultureInfo.InvariantCulture, $"needs a person: {100 * NeedsPerson:0} %"),
        BulkState.NoHead => "no head found",
        _ => "can't be read",
    };

    /// <summary>The outcome in a head's folder when it is of that file and made that way, else null.</summary>
    /// <param name="folder">The head's folder.</param>
    /// <param name="sha256">SHA-256 of the head's file.</param>
    /// <param name="madeWith">Program and options.</param>
    internal static BulkOutcome? Known(string folder, string sha256, string madeWith)
    {
        string path = Path.Combine(folder, FileName);
        try
        {
            BulkOutcome? outcome = File.Exists(path) ? JsonSerializer.Deserialize<BulkOutcome>(File.ReadAllBytes(path), Options) : null;
            return outcome is not null && sha256.Length > 0 && outcome.Sha256 == sha256 && outcome.MadeWith == madeWith ? outcome : null;
        }
        catch (Exception e) when (e is JsonException or IOException or UnauthorizedAccessException)
        {
            return null; // one that can't be read is made again
        }
    }

    /// <summary>Removes the outcome in a head's folder, if there is one.</summary>
    /// <exception cref="OutputException">It can't be removed.</exception>
    internal static void Forget(string folder)
    {
        string path = Path.Combine(folder, FileName);
        try
        {
            if (File.Exists(path))
            {
                File.Delete(path);
            }
        }
        catch (Exception e) when (e is IOException or UnauthorizedAccessException)
        {
            throw new OutputException(path, e.Message, e);
        }
    }

    /// <summary>Writes it into a head's folder, whole or not at all.</summary>
    /// <exception cref="OutputException">It can't be written.</exception>
    internal void Write(string folder)
    {
        using var output = new OutputFolder(folder);
        output.Add(FileName, stream => JsonSerializer.Serialize(stream, this, Options));
        output.Commit();
    }

    /// <summary>The same with what a placement says of itself.</summary>
    internal BulkOutcome Of(PlacementDocument document) => this with
    {
        State = BulkState.Placed,
        NeedsPerson = document.Head.NeedsPerson.Probability,
        Reasons = document.Head.NeedsPerson.Reasons,
        Errors = document.Findings.Count(f => f.Severity == Severity.Error),
        Warnings = document.Findings.Count(f => f.Severity == Severity.Warning),
        Findings = [.. document.Findings.Where(f => f.Severity != Severity.Info).Take(4).Select(f => f.Message)],
    };
}
