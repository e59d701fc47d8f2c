using System.Globalization;
using System.Net;
using System.Text;
using AutoPlace.Export;

namespace AutoPlace.Cli.Bulk;

/// <summary>What came of many heads, the worst first: report.csv, contact-sheet.html, needs-a-person.txt.</summary>
internal sealed class BulkReport
{
    /// <summary>Reasons and findings shown one by one; the others are only counted, and stand in report.csv or the placement.</summary>
    private const int ShownReasons = 4;

    private const string Style = """
        :root { color-scheme: light dark; --line: #8884; --quiet: #777; }
        body { font: 15px/1.45 system-ui, sans-serif; margin: 2rem auto; max-width: 76rem; padding: 0 1rem; }
        h1 { font-size: 1.4rem; } p.sum { color: var(--quiet); }
        article { border-top: 1px solid var(--line); padding: 1rem 0; display: grid; grid-template-columns: minmax(20rem, 46rem) 1fr; gap: 1.2rem; }
        img { width: 100%; border-radius: 4px; } h2 { font-size: 1.05rem; margin: 0 0 .3rem; overflow-wrap: anywhere; }
        ul { margin: .4rem 0; padding-left: 1.1rem; } .none { color: var(--quiet); border: 1px dashed var(--line); border-radius: 4px; padding: 2rem; text-align: center; }
        @media (max-width: 50rem) { article { grid-template-columns: 1fr; } }
        """;

    private readonly IReadOnlyList<ReportedHead> _ranked;

    /// <summary>Ranks the heads.</summary>
    internal BulkReport(IReadOnlyList<BulkHead> heads, IReadOnlyList<BulkOutcome> outcomes) =>
        _ranked = HeadReport.WorstFirst(heads.Zip(outcomes, (head, outcome) => new ReportedHead(head.Name, head.Path, outcome)));

    /// <summary>How many heads somebody has to look at.</summary>
    internal int Doubtful => _ranked.Count(h => h.Outcome.IsDoubtful);

    /// <summary>Writes the three files, all or none.</summary>
    /// <exception cref="OutputException">They can't be written.</exception>
    internal void Write(string folder)
    {
        using var output = new OutputFolder(folder);
        output.Add("report.csv", stream => WriteText(stream, HeadReport.Csv(_ranked)));
        output.Add("contact-sheet.html", stream => WriteText(stream, Html()));
        output.Add("needs-a-person.txt", stream => WriteText(stream, string.Concat(_ranked.Where(h => h.Outcome.IsDoubtful).Select(h => h.File + "\n"))));
        output.Commit();
    }

    /// <summary>Writes what a person wants to know first.</summary>
    internal void WriteSummary(TextWriter output, string folder)
    {
        output.WriteLine(
            $"{_ranked.Count} heads: {Count(HeadEnding.Placed)} placed, {Count(HeadEnding.NoHead)} without a head, {Count(HeadEnding.Unreadable)} can't be read");
        output.WriteLine($"{Doubtful} need a person; files in {folder}");
    }

    private int Count(HeadEnding state) => _ranked.Count(h => h.Outcome.State == state);

    private string Html()
    {
        var text = new StringBuilder();
        text.Append(CultureInfo.InvariantCulture, $"<!doctype html>\n<html lang=\"en\"><head><meta charset=\"utf-8\"><meta name=\"viewport\" content=\"width=device-width\"><title>{_ranked.Count} heads</title><style>\n{Style}</style></head><body>\n");
        text.Append(CultureInfo.InvariantCulture, $"<h1>{_ranked.Count} heads, those that need a person first</h1>\n<p class=\"sum\">{Doubtful} need a person. {Count(HeadEnding.Placed)} placed, {Count(HeadEnding.NoHead)} without a head, {Count(HeadEnding.Unreadable)} can't be read.</p>\n");
        foreach (ReportedHead head in _ranked)
        {
            Append(text, head.Name, head.Outcome);
        }

        return text.Append("</body></html>\n").ToString();
    }

    private static void Append(StringBuilder text, string head, HeadOutcome outcome)
    {
        string name = WebUtility.HtmlEncode(head), folder = $"heads/{Uri.EscapeDataString(head)}";
        text.Append("<article>");
        text.Append(outcome.State == HeadEnding.Placed
            ? $"<a href=\"{folder}/placement.json\"><img loading=\"lazy\" src=\"{folder}/{PlacementFiles.PictureName}\" alt=\"{name} from the front, at three quarters and in profile, with its lattice\"></a>"
            : $"<div class=\"none\">{outcome.Ending}</div>");
        text.Append(CultureInfo.InvariantCulture, $"<div><h2>{name}</h2>");
        if (outcome.State == HeadEnding.Placed)
        {
            text.Append($"{outcome.Ending}, {PlacementSummary.Count(outcome.Errors, "error")}, {PlacementSummary.Count(outcome.Warnings, "warning")}");
        }

        text.Append("<ul>");
        string[] lines = [.. outcome.Reasons.Concat(outcome.Findings).DistinctBy(line => line.TrimEnd('.'))]; // a failed check is both
        foreach (string line in lines.Take(ShownReasons))
        {
            text.Append(CultureInfo.InvariantCulture, $"<li>{WebUtility.HtmlEncode(line)}</li>");
        }

        if (lines.Length > ShownReasons)
        {
            text.Append(CultureInfo.InvariantCulture, $"<li>and {lines.Length - ShownReasons} more</li>");
        }

        text.Append("</ul></div></article>\n");
    }

    private static void WriteText(Stream stream, string text) => stream.Write(Encoding.UTF8.GetBytes(text));
}
