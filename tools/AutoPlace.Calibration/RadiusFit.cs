using AutoPlace.Geometry;
using AutoPlace.Landmarks;
using AutoPlace.Verification;

namespace AutoPlace.Calibration;

/// <summary>Fits the landmarks' 90 % radii: trees on some heads, factors on others.</summary>
internal static class RadiusFit
{
    /// <summary>Share of errors that a radius is to hold.</summary>
    private const double Held = 0.9;

    /// <summary>Errors below this tell nothing of a landmark: meshes' own edges are longer, interocular distances.</summary>
    private const double LeastError = 1e-3;

    /// <summary>Quantiles of the expected error that separate the classes with a factor each.</summary>
    private static readonly double[] ClassQuantiles = [0.4, 0.7, 0.9, 0.97];

    /// <summary>The usual of each landmark.</summary>
    /// <param name="landmarks">Landmarks of the heads to learn from.</param>
    public static UsualLandmark[] Usual(IEnumerable<ReadLandmark> landmarks)
    {
        ILookup<int, ReadLandmark> byName = landmarks.ToLookup(l => l.Landmark);
        return [.. LandmarkNames.All.Select((name, i) => new UsualLandmark(
            name,
            byName[i].Concat(byName[LandmarkNames.IndexOf(LandmarkNames.Mirror(name))]).Average(LogError),
            MedianPoint(byName[i].Select(l => LandmarkFeatures.Atlas(l.Features))),
            MedianPoint(byName[i].Select(l => LandmarkFeatures.Dense(l.Features)))))];
    }

    /// <summary>Trees that expect the logarithm of a landmark's error.</summary>
    public static TreeEnsemble Train(IReadOnlyList<UsualLandmark> usual, IReadOnlyList<ReadLandmark> landmarks) =>
        TreeTraining.Regress([.. landmarks.Select(l => Inputs(usual, l))], [.. landmarks.Select(LogError)]);

    /// <summary>Classes of expected error, and the factor of each (split conformal prediction).</summary>
    /// <param name="expected">For each landmark of heads that the trees don't know, its expected log error.</param>
    /// <param name="landmarks">Those landmarks.</param>
    public static (double[] Borders, double[] Factors) Conform(IReadOnlyList<double> expected, IReadOnlyList<ReadLandmark> landmarks)
    {
        double[] sorted = [.. expected.Order()];
        double[] borders = [.. ClassQuantiles.Select(q => Math.Round(sorted[(int)(q * sorted.Length)], 4))];
        ILookup<int, double> ratios = Enumerable.Range(0, expected.Count)
            .ToLookup(i => borders.Count(b => expected[i] > b), i => landmarks[i].Error / Math.Exp(expected[i]));
        return (borders, [.. Enumerable.Range(0, borders.Length + 1).Select(c => Math.Round(Quantile([.. ratios[c].Order()]), 4))]);
    }

    /// <summary>What the trees are given of a landmark.</summary>
    public static double[] Inputs(IReadOnlyList<UsualLandmark> usual, ReadLandmark l) =>
        ConfidenceCalibration.LandmarkInputs(usual[l.Landmark], l.Features, l.Place.Features);

    private static double LogError(ReadLandmark l) => Math.Log(Math.Max(l.Error, LeastError));

    // The ceil((n + 1) * 0.9)-th smallest, which holds at least 90 % of exchangeable further ones.
    private static double Quantile(double[] sorted) => sorted[Math.Min(sorted.Length - 1, (int)Math.Ceiling((sorted.Length + 1) * Held) - 1)];

    private static Vector3d MedianPoint(IEnumerable<Vector3d> points)
    {
        Vector3d[] all = [.. points];
        return new(Median(p => p.X), Median(p => p.Y), Median(p => p.Z));

        double Median(Func<Vector3d, double> coordinate) => Math.Round(all.Select(coordinate).Order().ElementAt(all.Length / 2), 4);
    }
}
