using System.Globalization;
using System.Text;
using System.Text.Json;

namespace AutoPlace.Export;

/// <summary>One of many heads in a report.</summary>
/// <param name="Name">Its name, unique in the report.</param>
/// <param name="File">Its file.</param>
/// <param name="Outcome">What came of it.</param>
public sealed record ReportedHead(string Name, string File, HeadOutcome Outcome);

/// <summary>The report on many heads: its order and its table.</summary>
public static class HeadReport
{
    /// <summary>The worst first: without a placement, then by the probability that it needs correcting, then by findings.</summary>
    public static IReadOnlyList<ReportedHead> WorstFirst(IEnumerable<ReportedHead> heads) =>
        [.. heads
            .OrderByDescending(head => head.Outcome.State)
            .ThenByDescending(head => head.Outcome.NeedsPerson)
            .ThenByDescending(head => head.Outcome.Errors)
            .ThenByDescending(head => head.Outcome.Warnings)
            .ThenBy(head => head.Name, StringComparer.Ordinal)];

    /// <summary>The table, in the order given; quoting after RFC 4180, line feeds.</summary>
    public static string Csv(IEnumerable<ReportedHead> heads)
    {
        ArgumentNullException.ThrowIfNull(heads);
        var text = new StringBuilder("name,file,state,needs_person,errors,warnings,seconds,reasons\n");
        foreach ((string name, string file, HeadOutcome outcome) in heads)
        {
            text.Append(CultureInfo.InvariantCulture,
                $"{CsvField.Quoted(name)},{CsvField.Quoted(file)},{Word(outcome.State)},{outcome.NeedsPerson:0.###},{outcome.Errors},{outcome.Warnings},{outcome.Seconds:0.00},{CsvField.Quoted(string.Join("; ", outcome.Reasons))}\n");
        }

        return text.ToString();
    }

    private static string Word(HeadEnding ending) => JsonNamingPolicy.KebabCaseLower.ConvertName(ending.ToString());
}
