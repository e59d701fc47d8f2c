using System.Text.Json;
using System.Text.Json.Serialization;
using AutoPlace.Export;

namespace AutoPlace.Cli.Bulk;

/// <summary>What came of one of many heads; kept in its folder, so that an interrupted run can go on.</summary>
internal sealed record BulkOutcome : HeadOutcome
{
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

    /// <summary>SHA-256 of the head's file, with the files that it refers to; empty when it can't be opened.</summary>
    public required string Sha256 { get; init; }

    /// <summary>Program and options that it was placed with.</summary>
    public required string MadeWith { get; init; }

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

    /// <summary>Removes files from a head's folder, those that are there.</summary>
    /// <exception cref="OutputException">One can't be removed.</exception>
    internal static void Remove(string folder, params ReadOnlySpan<string> names)
    {
        foreach (string name in names)
        {
            string path = Path.Combine(folder, name);
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
    }

    /// <summary>Writes it into a head's folder, whole or not at all.</summary>
    /// <exception cref="OutputException">It can't be written.</exception>
    internal void Write(string folder)
    {
        using var output = new OutputFolder(folder);
        output.Add(FileName, stream => JsonSerializer.Serialize(stream, this, Options));
        output.Commit();
    }
}
