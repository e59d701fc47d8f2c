using System.Globalization;
using System.Text.Json.Serialization;
using AutoPlace.Verification;

namespace AutoPlace.Export;

/// <summary>How placing one of many heads ended; the later, the worse.</summary>
public enum HeadEnding
{
    /// <summary>A lattice was placed.</summary>
    Placed,

    /// <summary>The file shows no head.</summary>
    NoHead,

    /// <summary>The file can't be read, or not be placed for another reason.</summary>
    Unreadable,
}

/// <summary>What came of one of many heads, as a report says it.</summary>
public record HeadOutcome
{
    /// <summary>From this probability on a person should look: one head in five like it needs correcting.</summary>
    public const double LeastDoubt = 0.2;

    /// <summary>Findings told one by one.</summary>
    private const int ToldFindings = 4;

    /// <summary>How it ended.</summary>
    public required HeadEnding State { get; init; }

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
    public bool IsDoubtful => State != HeadEnding.Placed || NeedsPerson >= LeastDoubt || Errors > 0;

    /// <summary>How it ended, for a person.</summary>
    [JsonIgnore]
    public string Ending => State switch
    {
        HeadEnding.Placed => string.Create(CultureInfo.InvariantCulture, $"needs a person: {100 * NeedsPerson:0} %"),
        HeadEnding.NoHead => "no head found",
        _ => "can't be read",
    };

    /// <summary>The same with what a placement says of itself.</summary>
    /// <param name="document">The placement.</param>
    public HeadOutcome With(PlacementDocument document)
    {
        ArgumentNullException.ThrowIfNull(document);
        return this with
        {
            State = HeadEnding.Placed,
            NeedsPerson = document.Head.NeedsPerson.Probability,
            Reasons = document.Head.NeedsPerson.Reasons,
            Errors = document.Findings.Count(f => f.Severity == Severity.Error),
            Warnings = document.Findings.Count(f => f.Severity == Severity.Warning),
            Findings = [.. document.Findings.Where(f => f.Severity != Severity.Info).Take(ToldFindings).Select(f => f.Message)],
        };
    }

    /// <summary>The same without a placement.</summary>
    /// <param name="reason">What kept it from being placed.</param>
    public HeadOutcome With(Exception reason)
    {
        ArgumentNullException.ThrowIfNull(reason);
        return this with
        {
            State = reason is HeadNotFoundException ? HeadEnding.NoHead : HeadEnding.Unreadable,
            NeedsPerson = 1,
            Reasons = [reason.Message],
        };
    }
}
