using System.Text;
using System.Text.Json;
using System.Text.Json.Nodes;

namespace AutoPlace.Cli.Evaluation;

/// <summary>Scores of many heads as a table or as JSON: by head, by landmark, by group.</summary>
internal sealed class EvaluationReport
{
    private const string All = "all heads";
    private static readonly JsonSerializerOptions Indented = new() { WriteIndented = true };

    private readonly IReadOnlyList<HeadScore> _scores;

    /// <summary>Makes a report.</summary>
    internal EvaluationReport(IReadOnlyList<HeadScore> scores) => _scores = scores;

    /// <summary>The table for people.</summary>
    internal void WriteTable(TextWriter output)
    {
        output.WriteLine("Errors in % of the labelled interocular distance; a landmark left out counts as 30 %.");
        output.WriteLine();
        output.WriteLine(Row("head", "group", Heading, "frame                      in radius90  needs a person"));
        foreach (HeadScore score in _scores)
        {
            string frame = score is { UpDegrees: double up, FrontDegrees: double front }
                ? Invariant($"up {up,4:F1}  front {front,4:F1} deg {score.HeldCount,8} of {score.Radii.Count,2} {100 * score.NeedsPerson,9:F0} %")
                : "not placed";
            output.WriteLine(Row(score.Head.Id, score.Head.Group, Cells(ErrorSummary.Of(score.Errors.Values)), frame));
        }

        output.WriteLine();
        output.WriteLine(Row("landmark", "", Heading, ""));
        foreach ((string landmark, ErrorSummary errors) in ByLandmark())
        {
            output.WriteLine(Row(landmark, "", Cells(errors), ""));
        }

        output.WriteLine();
        output.WriteLine(Row("group", "", Heading, "required six: median"));
        foreach ((string group, ErrorSummary errors, ErrorSummary required) in ByGroup())
        {
            output.WriteLine(Row(group, "", Cells(errors), Invariant($"{required.Median:F1}")));
        }

        int radii = _scores.Sum(s => s.Radii.Count);
        output.WriteLine();
        output.WriteLine(
            $"radius90 holds {Held(s => s.HeldCount)} of {radii} labels; with the labels' own errors added in squares, {Held(s => s.HeldOfUncertainLabels)}");

        HeadScore[] failed = [.. _scores.Where(s => s.Failure is not null)];
        output.WriteLine(Invariant($"{_scores.Count} heads, {failed.Length} not placed"));
        foreach (HeadScore score in failed)
        {
            output.WriteLine($"  {score.Head.Id}: {score.Failure}");
        }

        string Held(Func<HeadScore, int> count) => Invariant($"{_scores.Sum(count)} ({100.0 * _scores.Sum(count) / Math.Max(1, radii):F0} %)");
    }

    /// <summary>The same for programs.</summary>
    internal void WriteJson(TextWriter output)
    {
        var heads = new JsonArray();
        foreach (HeadScore score in _scores)
        {
            heads.Add(new JsonObject
            {
                ["id"] = score.Head.Id,
                ["group"] = score.Head.Group,
                ["placed"] = score.Failure is null,
                ["failure"] = score.Failure,
                ["upDegrees"] = score.UpDegrees is double up ? Rounded(up) : null,
                ["frontDegrees"] = score.FrontDegrees is double front ? Rounded(front) : null,
                ["needsPerson"] = score.NeedsPerson is double need ? Rounded(need) : null,
                ["all"] = Json(ErrorSummary.Of(score.Errors.Values)),
                ["required"] = Json(ErrorSummary.Of(score.RequiredErrors.Values)),
                ["errorPercent"] = new JsonObject(score.Errors.Select(e => KeyValuePair.Create(e.Key, (JsonNode?)Rounded(e.Value)))),
                ["radius90Percent"] = new JsonObject(score.Radii.Select(r => KeyValuePair.Create(r.Key, (JsonNode?)Rounded(r.Value)))),
            });
        }

        var report = new JsonObject
        {
            ["format"] = "autoplace.evaluation",
            ["version"] = 1,
            ["heads"] = heads,
            ["landmarks"] = new JsonObject(ByLandmark().Select(l => KeyValuePair.Create(l.Landmark, (JsonNode?)Json(l.Errors)))),
            ["groups"] = new JsonObject(ByGroup().Select(g => KeyValuePair.Create(
                g.Group, (JsonNode?)new JsonObject { ["all"] = Json(g.Errors), ["required"] = Json(g.Required) }))),
        };
        output.WriteLine(report.ToJsonString(Indented));
    }

    private IEnumerable<(string Landmark, ErrorSummary Errors)> ByLandmark() =>
        from error in _scores.SelectMany(s => s.Errors)
        group error.Value by error.Key into landmark
        orderby landmark.Key
        select (landmark.Key, ErrorSummary.Of(landmark));

    private IEnumerable<(string Group, ErrorSummary Errors, ErrorSummary Required)> ByGroup() =>
        from members in _scores.GroupBy(s => s.Head.Group).OrderBy(g => g.Key, StringComparer.Ordinal)
            .Select(g => (g.Key, Scores: g.AsEnumerable()))
            .Append((Key: All, Scores: _scores))
        select (
            members.Key,
            ErrorSummary.Of(members.Scores.SelectMany(s => s.Errors.Values)),
            ErrorSummary.Of(members.Scores.SelectMany(s => s.RequiredErrors.Values)));

    private static readonly string[] Heading = ["n", "median", "mean", "<5 %", "<10 %", "max"];

    private static string[] Cells(ErrorSummary e) =>
    [
        Invariant($"{e.Count}"),
        Invariant($"{e.Median:F1}"),
        Invariant($"{e.Mean:F1}"),
        Invariant($"{100 * e.ShareUnder5:F0}"),
        Invariant($"{100 * e.ShareUnder10:F0}"),
        Invariant($"{e.Max:F1}"),
    ];

    private static string Row(string name, string group, string[] cells, string last)
    {
        var line = new StringBuilder(name.PadRight(26)).Append(group.PadRight(12));
        foreach (string cell in cells)
        {
            line.Append(cell.PadLeft(8));
        }

        return line.Append("  ").Append(last).ToString().TrimEnd();
    }

    private static JsonObject Json(ErrorSummary e) => new()
    {
        ["count"] = e.Count,
        ["median"] = Rounded(e.Median),
        ["mean"] = Rounded(e.Mean),
        ["shareUnder5"] = Rounded(e.ShareUnder5),
        ["shareUnder10"] = Rounded(e.ShareUnder10),
        ["max"] = Rounded(e.Max),
    };

    private static JsonNode? Rounded(double value) => double.IsNaN(value) ? null : Math.Round(value, 4);

    private static string Invariant(FormattableString text) => FormattableString.Invariant(text);
}
