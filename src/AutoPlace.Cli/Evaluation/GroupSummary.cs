using AutoPlace.Verification;

namespace AutoPlace.Cli.Evaluation;

/// <summary>A group's figures.</summary>
/// <param name="Name">The group.</param>
/// <param name="HeadCount">Heads with labels that are compared.</param>
/// <param name="Errors">Errors of all landmarks.</param>
/// <param name="Required">Errors of those that a placement can't do without.</param>
/// <param name="Intervals">How the figures scatter; null for fewer than two heads.</param>
internal sealed record GroupSummary(string Name, int HeadCount, ErrorSummary Errors, ErrorSummary Required, GroupIntervals? Intervals)
{
    /// <summary>Sums up the scores of a group.</summary>
    internal static GroupSummary Of(string name, IReadOnlyList<HeadScore> scores)
    {
        HeadScore[] labelled = [.. scores.Where(s => s.Errors.Count > 0)];
        return new(name, labelled.Length, OfAll(labelled), OfRequired(labelled), labelled.Length > 1 ? GroupIntervals.Of(labelled) : null);
    }

    /// <summary>Errors of all landmarks of some heads.</summary>
    internal static ErrorSummary OfAll(IEnumerable<HeadScore> scores) => ErrorSummary.Of(scores.SelectMany(s => s.Errors.Values));

    /// <summary>Those of the required ones.</summary>
    internal static ErrorSummary OfRequired(IEnumerable<HeadScore> scores) => ErrorSummary.Of(scores.SelectMany(s => s.RequiredErrors.Values));
}

/// <summary>Intervals of a group's figures had other heads been drawn; see <see cref="HeadBootstrap"/>.</summary>
/// <param name="Median">Of the median error, percent.</param>
/// <param name="Mean">Of the mean error, percent.</param>
/// <param name="ShareUnder5">Of the share under 5 %, in [0, 1].</param>
/// <param name="ShareUnder10">Of the share under 10 %, in [0, 1].</param>
/// <param name="RequiredMedian">Of the required landmarks' median error, percent.</param>
internal sealed record GroupIntervals(
    (double Low, double High) Median,
    (double Low, double High) Mean,
    (double Low, double High) ShareUnder5,
    (double Low, double High) ShareUnder10,
    (double Low, double High) RequiredMedian)
{
    /// <summary>Draws the heads anew.</summary>
    internal static GroupIntervals Of(IReadOnlyList<HeadScore> scores)
    {
        (double Low, double High)[] of = HeadBootstrap.Intervals(scores, drawn =>
        {
            ErrorSummary all = GroupSummary.OfAll(drawn);
            return [all.Median, all.Mean, all.ShareUnder5, all.ShareUnder10, GroupSummary.OfRequired(drawn).Median];
        });
        return new(of[0], of[1], of[2], of[3], of[4]);
    }
}
