using AutoPlace.Landmarks;
using AutoPlace.Verification;
using MathNet.Numerics.Distributions;

namespace AutoPlace.Calibration;

/// <summary>Prints what a calibration is worth.</summary>
internal sealed class FitReport(TextWriter output)
{
    /// <summary>Share of the failed heads that a review may miss.</summary>
    private const double MostMissed = 0.02;

    /// <summary>How many errors their radii hold.</summary>
    /// <param name="by">What the radii were fitted to.</param>
    /// <param name="tests">Heads that they weren't fitted to.</param>
    public void Radii(string by, TestedHeads tests)
    {
        Radii($"landmarks of {tests.Heads.Count} heads, {by}", tests.Landmarks);
        Radii($"joints of those, {by}", tests.Joints);
    }

    private void Radii(string heading, IReadOnlyList<TestedRadius> radii)
    {
        output.WriteLine($"radius90 of {heading}");
        output.WriteLine("                      count  held % (95 % interval)  median error %  median radius %  ratio");
        Row("all", radii);
        foreach (IGrouping<string, TestedRadius> kind in radii.GroupBy(r => r.Kind).OrderBy(g => g.Key, StringComparer.Ordinal))
        {
            Row(kind.Key, [.. kind]);
        }

        foreach (IGrouping<string, TestedRadius> group in radii.GroupBy(r => r.Group).OrderBy(g => g.Key, StringComparer.Ordinal))
        {
            Row(group.Key, [.. group]);
        }

        foreach ((int i, TestedRadius[] fifth) in radii.OrderBy(r => r.Radius).Chunk((radii.Count + 4) / 5).Index())
        {
            Row($"radii, fifth {i + 1}", fifth);
        }

        output.WriteLine();

        void Row(string name, IReadOnlyList<TestedRadius> chosen)
        {
            double error = 100 * Median(chosen.Select(r => r.Error)), radius = 100 * Median(chosen.Select(r => r.Radius));
            double held = 100.0 * chosen.Count(r => r.Error <= r.Radius) / chosen.Count;
            (double low, double high) = HeadBootstrap.Intervals(
                [.. chosen.GroupBy(r => r.Head).Select(head => (Held: head.Count(r => r.Error <= r.Radius), Of: head.Count()))],
                heads => [100.0 * heads.Sum(h => h.Held) / heads.Sum(h => h.Of)])[0];
            output.WriteLine($"{name,-20} {chosen.Count,6} {held,7:F1} ({low:F1} to {high:F1}) {error,15:F2} {radius,16:F2} {radius / error,6:F2}");
        }
    }

    /// <summary>Whether heads that failed are those that are reviewed.</summary>
    public void Failures(IReadOnlyList<ReadPlace> heads, IReadOnlyList<double> probabilities)
    {
        bool[] failed = [.. heads.Select(h => h.HasFailed)], whereSeen = [.. heads.Select(h => h.HasFailedWhereSeen)];
        output.WriteLine($"needs a person, {heads.Count} heads, each by trees of others; failed: wrong frame, or too many landmarks off");
        output.WriteLine("heads                 count  failed  AUROC  missed of failed, %, when the first 20 (95 % interval) / 30 / 40 / 50 % are reviewed; at best at 20 %; to review for 2 %");
        int[] all = [.. Enumerable.Range(0, heads.Count)];
        Row("all", all, failed);
        Row("all, where seen", all, whereSeen);
        foreach (IGrouping<string, int> kind in all.GroupBy(i => heads[i].Kind).OrderBy(g => g.Key, StringComparer.Ordinal))
        {
            Row(kind.Key, [.. kind], failed);
        }

        output.WriteLine("probability           count  mean  failed");
        foreach (IGrouping<int, int> bin in all.GroupBy(i => (int)Math.Min(9, 10 * probabilities[i])).OrderBy(b => b.Key))
        {
            output.WriteLine($"{bin.Key / 10.0:F1} to {(bin.Key + 1) / 10.0:F1}          {bin.Count(),6} {bin.Average(i => probabilities[i]),5:F2} {bin.Average(i => failed[i] ? 1 : 0.0),7:F2}");
        }

        output.WriteLine();

        void Row(string name, int[] chosen, bool[] failed)
        {
            int[] order = [.. chosen.OrderByDescending(i => probabilities[i])];
            int bad = chosen.Count(i => failed[i]);
            string[] missed = [.. Enumerable.Range(2, 4).Select(tenths => Percent(order.Skip(tenths * order.Length / 10).Count(i => failed[i])))];
            (double low, double high) = HeadBootstrap.Intervals(chosen, drawn =>
                [100.0 * drawn.OrderByDescending(i => probabilities[i]).Skip(drawn.Count / 5).Count(i => failed[i]) / Math.Max(1, drawn.Count(i => failed[i]))])[0];
            string best = Percent(Math.Max(0, bad - (order.Length / 5)));
            int needed = Enumerable.Range(0, order.Length).First(n => order.Skip(n).Count(i => failed[i]) <= MostMissed * bad);
            output.WriteLine(
                $"{name,-20} {chosen.Length,6} {bad,7} {Auroc(chosen.Select(i => (probabilities[i], failed[i]))),6:F3}  {missed[0]} ({low:F1} to {high:F1}) / {string.Join(" / ", missed[1..])}; {best}; {100.0 * needed / order.Length:F0} %");

            string Percent(int count) => $"{100.0 * count / Math.Max(1, bad):F1}";
        }
    }

    /// <summary>Whether heads are taken for heads, and other things aren't, by the likeness of the places that were read.</summary>
    public void Heads(IReadOnlyList<ReadPlace> places)
    {
        int likeness = HeadFeatures.Names.Index().First(n => n.Item == "likeness").Index;
        ILookup<bool, double> best = places.GroupBy(p => p.Head).ToLookup(
            g => g.First().IsOfHead, g => g.Max(p => p.Features.Length > 0 ? p.Features[likeness] : 0));
        double[] heads = [.. best[true]], others = [.. best[false]];
        output.WriteLine($"head or not, {heads.Length} heads and {others.Length} other things; upper 95 % bounds by Clopper and Pearson");
        output.WriteLine("least likeness        heads refused            others taken");
        foreach (double least in (double[])[0.2, 0.4, HeadReading.LeastLikeness, 0.8])
        {
            output.WriteLine($"{least,-20:F2}  {Count(heads.Count(l => l < least), heads.Length)}   {Count(others.Count(l => l >= least), others.Length)}");
        }

        static string Count(int count, int of) => $"{count,4} = {100.0 * count / Math.Max(1, of),5:F2} % (< {100 * UpperBound(count, of),5:F2} %)";
    }

    /// <summary>One-sided upper 95 % bound of a share (Clopper and Pearson 1934).</summary>
    internal static double UpperBound(int count, int of) => count >= of ? 1 : Beta.InvCDF(count + 1, of - count, 0.95);

    // Probability that one that failed has the higher probability than one that didn't; equal ones count half.
    internal static double Auroc(IEnumerable<(double Probability, bool Failed)> scored)
    {
        (double Probability, bool Failed)[] order = [.. scored.OrderBy(s => s.Probability)];
        double below = 0, pairs = 0, bad = 0;
        for (int i = 0; i < order.Length;)
        {
            int j = i;
            double badHere = 0;
            for (; j < order.Length && order[j].Probability == order[i].Probability; j++)
            {
                badHere += order[j].Failed ? 1 : 0;
            }

            double goodHere = j - i - badHere;
            pairs += badHere * (below + (goodHere / 2));
            (below, bad, i) = (below + goodHere, bad + badHere, j);
        }

        return pairs / Math.Max(1, bad * below);
    }

    private static double Median(IEnumerable<double> values)
    {
        double[] sorted = [.. values.Order()];
        return sorted[sorted.Length / 2];
    }
}
