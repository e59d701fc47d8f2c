namespace AutoPlace.Cli.Evaluation;

/// <summary>Errors in percent of the interocular distance, summed up.</summary>
/// <param name="Count">Number of errors.</param>
/// <param name="Median">Median.</param>
/// <param name="Mean">Mean.</param>
/// <param name="ShareUnder5">Share under 5 %, in [0, 1].</param>
/// <param name="ShareUnder10">Share under 10 %, in [0, 1].</param>
/// <param name="Max">Greatest.</param>
internal sealed record ErrorSummary(int Count, double Median, double Mean, double ShareUnder5, double ShareUnder10, double Max)
{
    /// <summary>Sums up errors; all NaN when there are none.</summary>
    internal static ErrorSummary Of(IEnumerable<double> errors)
    {
        double[] sorted = [.. errors.Order()];
        int n = sorted.Length;
        return n == 0
            ? new(0, double.NaN, double.NaN, double.NaN, double.NaN, double.NaN)
            : new(
                n,
                (sorted[(n - 1) / 2] + sorted[n / 2]) / 2,
                sorted.Average(),
                sorted.Count(e => e < 5) / (double)n,
                sorted.Count(e => e < 10) / (double)n,
                sorted[^1]);
    }
}
