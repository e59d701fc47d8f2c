using System.Globalization;
using System.Text;
using System.Text.Json;
using System.Text.Json.Nodes;
using AutoPlace.Verification;

namespace AutoPlace.Cli.Evaluation;

/// <summary>Scores of many heads as a table or as JSON: by head, by landmark, by group.</summary>
internal sealed class EvaluationReport
{
    private const string All = "all heads";
    private const int IntervalWidth = 14;
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
        GroupSummary[] groups = [.. ByGroup()];
        foreach (GroupSummary group in groups)
        {
            output.WriteLine(Row(group.Name, "", Cells(group.Errors), Cell(group.Required.Median)));
        }

        output.WriteLine();
        output.WriteLine(Row($"{100 * HeadBootstrap.Coverage:F0} % intervals, by heads", "heads", ["median", "mean", "<5 %", "<10 %"], "required six: median", IntervalWidth));
        foreach (GroupSummary group in groups.Where(g => g.Intervals is not null))
        {
            GroupIntervals i = group.Intervals!;
            output.WriteLine(Row(
                group.Name, Invariant($"{group.HeadCount}"),
                [Between(i.Median), Between(i.Mean), Between(i.ShareUnder5, 100), Between(i.ShareUnder10, 100)], Between(i.RequiredMedian), IntervalWidth));
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
                g.Name, (JsonNode?)new JsonObject { ["all"] = Json(g.Errors), ["required"] = Json(g.Required), ["interval95"] = Json(g.Intervals) }))),
        };
        output.WriteLine(report.ToJsonString(Indented));
    }

    private IEnumerable<(string Landmark, ErrorSummary Errors)> ByLandmark() =>
        from error in _scores.SelectMany(s => s.Errors)
        group error.Value by error.Key into landmark
        orderby landmark.Key
        select (landmark.Key, ErrorSummary.Of(landmark));

    private IEnumerable<GroupSummary> ByGroup() =>
        from members in _scores.GroupBy(s => s.Head.Group).OrderBy(g => g.Key, StringComparer.Ordinal)
            .Select(g => (g.Key, Scores: g.ToArray()))
            .Append((Key: All, Scores: [.. _scores]))
        select GroupSummary.Of(members.Key, members.Scores);

    private static readonly string[] Heading = ["n", "median", "mean", "<5 %", "<10 %", "max"];

    private static string[] Cells(ErrorSummary e) =>
    [
        Invariant($"{e.Count}"),
        Cell(e.Median),
        Cell(e.Mean),
        Cell(100 * e.ShareUnder5, "F0"),
        Cell(100 * e.ShareUnder10, "F0"),
        Cell(e.Max),
    ];

    // Without labels there are no figures.
    private static string Cell(double value, string format = "F1") => double.IsNaN(value) ? "-" : value.ToString(format, CultureInfo.InvariantCulture);

    private static string Between((double Low, double High) interval, double factor = 1)
    {
        string format = factor == 1 ? "F1" : "F0";
        return $"{Cell(factor * interval.Low, format)} to {Cell(factor * interval.High, format)}";
    }

    private static string Row(string name, string group, string[] cells, string last, int width = 8)
    {
        var line = new StringBuilder(name.PadRight(26)).Append(group.PadRight(12));
        foreach (string cell in cells)
        {
            line.Append(cell.PadLeft(width));
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

    private static JsonObject? Json(GroupIntervals? i) => i is null ? null : new()
    {
        ["median"] = Json(i.Median),
        ["mean"] = Json(i.Mean),
        ["shareUnder5"] = Json(i.ShareUnder5),
        ["shareUnder10"] = Json(i.ShareUnder10),
        ["requiredMedian"] = Json(i.RequiredMedian),
    };

    private static JsonArray Json((double Low, double High) interval) => [Rounded(interval.Low), Rounded(interval.High)];

    private static JsonNode? Rounded(double value) => double.IsNaN(value) ? null : Math.Round(value, 4);

    private static string Invariant(FormattableString text) => FormattableString.Invariant(text);
}
