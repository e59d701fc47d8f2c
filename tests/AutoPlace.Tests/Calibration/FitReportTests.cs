using AutoPlace.Calibration;
using Xunit;

namespace AutoPlace.Tests.Calibration;

public sealed class FitReportTests
{
    /// <summary>Of none among n the bound is 1 - 0.05^(1/n) (the binomial's own formula).</summary>
    [Theory]
    [InlineData(0, 1, 0.95)]
    [InlineData(0, 298, 0.010002)]
    [InlineData(0, 1000, 0.0029912)]
    [InlineData(5, 5, 1)]
    public void Upper_bound_is_that_of_Clopper_and_Pearson(int count, int of, double bound) =>
        Assert.Equal(bound, FitReport.UpperBound(count, of), 1e-6);

    [Fact]
    public void Upper_bound_leaves_5_percent_below()
    {
        double p = FitReport.UpperBound(2, 50);

        double atMostTwo = Math.Pow(1 - p, 50) + (50 * p * Math.Pow(1 - p, 49)) + (1225 * p * p * Math.Pow(1 - p, 48));
        Assert.Equal(0.05, atMostTwo, 1e-9);
    }

    [Fact]
    public void Auroc_counts_pairs()
    {
        // Pairs of one that failed and one that didn't: 0.9 beats 0.1, 0.5 and 0.5; 0.5 beats 0.1 and draws twice.
        Assert.Equal(5 / 6.0, FitReport.Auroc([(0.9, true), (0.5, true), (0.5, false), (0.5, false), (0.1, false)]), 1e-12);
        Assert.Equal(0, FitReport.Auroc([(0.1, true), (0.2, false)]), 1e-12);
    }
}
