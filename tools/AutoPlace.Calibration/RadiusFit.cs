using AutoPlace.Geometry;
using AutoPlace.Landmarks;
using AutoPlace.Verification;

namespace AutoPlace.Calibration;

/// <summary>Fits the landmarks' 90 % radii: trees learn from some heads, factors are conformed to others.</summary>
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

    /// <summary>Fits.</summary>
    /// <param name="learnt">Landmarks of the heads to learn from.</param>
    /// <param name="conformed">Landmarks of other heads.</param>
    public static RadiusCalibration Of(IEnumerable<ReadLandmark> learnt, IEnumerable<ReadLandmark> conformed)
    {
        ReadLandmark[] known = [.. learnt.Where(l => l.IsKnown)], others = [.. conformed.Where(l => l.IsKnown)];
        UsualLandmark[] usual = Usual(known);
        TreeEnsemble trees = TreeTraining.Regress(
            [.. known.Select(l => RadiusCalibration.Inputs(usual[l.Landmark], l.Features, l.Place.Features))], [.. known.Select(LogError)]);
        var radii = new RadiusCalibration { Usual = usual, LogError = trees, ClassBorders = [], Factors = [1] };
        (double[] borders, double[] factors) = Conform([.. others.Select(l => Expected(radii, l))], others);
        return radii with { ClassBorders = borders, Factors = factors };
    }

    /// <summary>Logarithm of the error expected of a landmark.</summary>
    public static double Expected(RadiusCalibration radii, ReadLandmark l) => radii.ExpectedLogError(l.Landmark, l.Features, l.Place.Features);

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
