using AutoPlace.Verification;
using MathNet.Numerics.Distributions;
using Xunit;

namespace AutoPlace.Tests.Verification;

public sealed class HeadBootstrapTests
{
    [Theory]
    [InlineData(20, 8)]
    [InlineData(50, 3)]
    public void Share_scatters_as_a_binomial_distribution_does(int heads, int hits)
    {
        // Drawing with replacement from n heads, k of which count, is n trials of probability k / n; quantiles by MathNet.
        (double low, double high) = Assert.Single(HeadBootstrap.Intervals([.. Enumerable.Range(0, heads)], drawn => [drawn.Count(h => h < hits)]));

        var binomial = new Binomial(hits / (double)heads, heads);
        Assert.InRange(low, Quantile(0.018), Quantile(0.032));
        Assert.InRange(high, Quantile(0.968), Quantile(0.982));

        int Quantile(double p) => Enumerable.Range(0, heads + 1).First(k => binomial.CumulativeDistribution(k) >= p);
    }

    [Fact]
    public void Mean_scatters_by_the_standard_error_of_the_heads_not_of_their_landmarks()
    {
        // Thirty landmarks on a head that err alike are worth one: the width is that of 40 numbers, not of 1,200.
        double[][] heads = [.. Enumerable.Range(0, 40).Select(h => Enumerable.Repeat((double)h, 30).ToArray())];

        (double low, double high) = Assert.Single(HeadBootstrap.Intervals(heads, drawn => [drawn.SelectMany(e => e).Average()]));

        double sigma = Math.Sqrt(((40 * 40) - 1) / 12.0); // of the numbers from 0 to 39
        double normal = 2 * 1.95996 * sigma / Math.Sqrt(40);
        Assert.Equal(normal, high - low, 0.06 * normal);
        Assert.Equal(19.5, (high + low) / 2, 0.05 * normal);
    }

    [Fact]
    public void Each_figure_has_its_interval_and_the_same_heads_have_the_same()
    {
        double[] heads = [3, 1, 4, 1, 5];

        (double Low, double High)[] found = HeadBootstrap.Intervals(heads, drawn => [drawn.Average(), 7, drawn.Max()]);

        Assert.Equal(found, HeadBootstrap.Intervals(heads, drawn => [drawn.Average(), 7, drawn.Max()]));
        Assert.Equal((7, 7), found[1]);
        Assert.InRange(found[0].Low, 1, found[0].High);
        Assert.Equal(5, found[2].High);
    }

    [Fact]
    public void No_heads_have_no_interval() =>
        Assert.Throws<ArgumentException>(() => HeadBootstrap.Intervals(Array.Empty<int>(), drawn => [drawn.Count]));
}
