using AutoPlace.Calibration;
using AutoPlace.Landmarks;
using AutoPlace.Verification;
using Xunit;

namespace AutoPlace.Tests.Calibration;

public sealed class RadiusFitTests
{
    [Fact]
    public void Radii_hold_90_percent_of_further_errors_in_each_class()
    {
        (double[] expected, double[] errors) = Errors(seed: 1);

        (double[] borders, double[] factors) = RadiusFit.Conform(expected, errors);

        ConformalRadii radii = SampleCalibration.Create().Joints with { ClassBorders = borders, Factors = factors };
        (double[] others, double[] further) = Errors(seed: 2);
        foreach (IGrouping<int, int> kind in Enumerable.Range(0, others.Length).GroupBy(i => borders.Count(b => others[i] > b)))
        {
            // Three standard errors of a share of 0.9 in the smallest class (600), of both samples.
            Assert.Equal(0.9, kind.Average(i => further[i] <= radii.Radius90(others[i]) ? 1.0 : 0), 0.055);
        }
    }

    [Fact]
    public void Usual_is_the_median_place_and_the_mean_log_error_of_both_sides()
    {
        double[] at = new double[LandmarkFeatures.Names.Count];
        ReadPlace place = Place();
        ReadLandmark[] landmarks = [.. LandmarkNames.All.SelectMany((name, i) => Enumerable.Range(0, 3).Select(n =>
        {
            double[] features = [.. at];
            features[LandmarkFeatures.OwnCount] = n;
            return new ReadLandmark(place, i, true, name.EndsWith("_left", StringComparison.Ordinal) ? 0.01 : 0.04, features);
        }))];

        UsualLandmark[] usual = RadiusFit.Usual(landmarks);

        Assert.Equal(1, usual[0].Atlas.X);
        Assert.Equal(Math.Log(0.02), usual[LandmarkNames.IndexOf("alare_right")].LogError, 1e-12);
        Assert.Equal(Math.Log(0.04), usual[LandmarkNames.IndexOf("subnasale")].LogError, 1e-12);
    }

    // Errors whose spread about the expected one grows with it.
    private static (double[] Expected, double[] Errors) Errors(int seed)
    {
        var random = new Random(seed);
        double[] expected = [.. Enumerable.Range(0, 20_000).Select(_ => -4 + (2 * random.NextDouble()))];
        return (expected, [.. expected.Select(e =>
        {
            double normal = Math.Sqrt(-2 * Math.Log(1 - random.NextDouble())) * Math.Cos(2 * Math.PI * random.NextDouble());
            return Math.Exp(e + (normal * (0.3 + (0.2 * (e + 4)))));
        })]);
    }

    private static ReadPlace Place() => new("a", 1, "Realistic", true, 0, 0, 0, []);
}
