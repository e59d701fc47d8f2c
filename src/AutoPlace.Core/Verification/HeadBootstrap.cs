namespace AutoPlace.Verification;

/// <summary>
/// How far figures of some heads scatter with the choice of the heads: percentile intervals of the bootstrap (Efron and
/// Tibshirani 1993, "An Introduction to the Bootstrap", chapter 13; from memory). Heads are drawn with replacement, each with
/// everything measured on it, since errors on one head go together. Of few heads the intervals are too narrow.
/// </summary>
public static class HeadBootstrap
{
    /// <summary>Share of the draws that an interval holds.</summary>
    public const double Coverage = 0.95;

    private const int Draws = 2000, Seed = 1;

    /// <summary>The intervals of figures.</summary>
    /// <typeparam name="THead">What is known of a head.</typeparam>
    /// <param name="heads">The heads, at least one.</param>
    /// <param name="figures">Works figures out of as many heads, some of which come several times; always as many figures.</param>
    /// <returns>For each figure its interval; the same for the same heads in the same order.</returns>
    /// <exception cref="ArgumentException">There is no head.</exception>
    public static (double Low, double High)[] Intervals<THead>(IReadOnlyList<THead> heads, Func<IReadOnlyList<THead>, double[]> figures)
    {
        ArgumentNullException.ThrowIfNull(heads);
        ArgumentNullException.ThrowIfNull(figures);
        if (heads.Count == 0)
        {
            throw new ArgumentException("No heads to draw from.", nameof(heads));
        }

        var random = new Random(Seed);
        var drawn = new THead[heads.Count];
        double[][] draws = new double[Draws][];
        for (int d = 0; d < Draws; d++)
        {
            for (int i = 0; i < drawn.Length; i++)
            {
                drawn[i] = heads[random.Next(heads.Count)];
            }

            draws[d] = figures(drawn);
        }

        int outside = (int)Math.Round(Draws * (1 - Coverage) / 2);
        return [.. Enumerable.Range(0, draws[0].Length).Select(f =>
        {
            double[] values = [.. draws.Select(d => d[f]).Order()];
            return (values[outside], values[Draws - 1 - outside]);
        })];
    }
}
