using AutoPlace.Geometry;
using AutoPlace.Landmarks;
using AutoPlace.Verification;

namespace AutoPlace.Calibration;

/// <summary>Fits 90 % radii of landmarks and joints: trees learn from some heads, factors are conformed to others.</summary>
internal static class RadiusFit
{
    /// <summary>Share of errors that a radius is to hold.</summary>
    private const double Held = 0.9;

    /// <summary>Errors below this tell nothing: meshes' own edges are longer, interocular distances.</summary>
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

    /// <summary>Fits the radii of landmarks.</summary>
    /// <param name="learnt">Landmarks of the heads to learn from.</param>
    /// <param name="conformed">Landmarks of other heads.</param>
    public static RadiusCalibration Of(IEnumerable<ReadLandmark> learnt, IEnumerable<ReadLandmark> conformed)
    {
        ReadLandmark[] known = [.. learnt.Where(l => l.IsKnown)];
        UsualLandmark[] usual = Usual(known);
        Example[] Examples(IEnumerable<ReadLandmark> landmarks) =>
            [.. landmarks.Select(l => new Example(RadiusCalibration.Inputs(usual[l.Landmark], l.Features, l.Place.Features), l.Error))];
        return new RadiusCalibration { Usual = usual, Errors = Of(Examples(known), Examples(conformed.Where(l => l.IsKnown))) };
    }

    /// <summary>Fits the radii of joints.</summary>
    /// <param name="learnt">Joints of the heads to learn from.</param>
    /// <param name="conformed">Joints of other heads.</param>
    public static ConformalRadii Of(IEnumerable<PlacedJoint> learnt, IEnumerable<PlacedJoint> conformed)
    {
        return Of(Examples(learnt), Examples(conformed));

        static Example[] Examples(IEnumerable<PlacedJoint> joints) =>
            [.. joints.Select(j => new Example(JointFeatures.Inputs(j.Features, j.Place.Features), j.Error))];
    }

    /// <summary>Classes of expected error, and the factor of each (split conformal prediction).</summary>
    /// <param name="expected">Expected log errors, on heads that the trees don't know.</param>
    /// <param name="errors">For each the error, interocular distances.</param>
    public static (double[] Borders, double[] Factors) Conform(IReadOnlyList<double> expected, IReadOnlyList<double> errors)
    {
        double[] sorted = [.. expected.Order()];
        double[] borders = [.. ClassQuantiles.Select(q => Math.Round(sorted[(int)(q * sorted.Length)], 4))];
        ILookup<int, double> ratios = Enumerable.Range(0, expected.Count)
            .ToLookup(i => borders.Count(b => expected[i] > b), i => errors[i] / Math.Exp(expected[i]));
        return (borders, [.. Enumerable.Range(0, borders.Length + 1).Select(c => Math.Round(Quantile([.. ratios[c].Order()]), 4))]);
    }

    private static ConformalRadii Of(Example[] learnt, Example[] conformed)
    {
        TreeEnsemble trees = TreeTraining.Regress([.. learnt.Select(e => e.Inputs)], [.. learnt.Select(e => LogError(e.Error))]);
        (double[] borders, double[] factors) = Conform([.. conformed.Select(e => trees.Evaluate(e.Inputs))], [.. conformed.Select(e => e.Error)]);
        return new ConformalRadii { LogError = trees, ClassBorders = borders, Factors = factors };
    }

    private static double LogError(ReadLandmark l) => LogError(l.Error);

    private static double LogError(double error) => Math.Log(Math.Max(error, LeastError));

    // The ceil((n + 1) * 0.9)-th smallest, which holds at least 90 % of exchangeable further ones.
    private static double Quantile(double[] sorted) => sorted[Math.Min(sorted.Length - 1, (int)Math.Ceiling((sorted.Length + 1) * Held) - 1)];

    private static Vector3d MedianPoint(IEnumerable<Vector3d> points)
    {
        Vector3d[] all = [.. points];
        return new(Median(p => p.X), Median(p => p.Y), Median(p => p.Z));

        double Median(Func<Vector3d, double> coordinate) => Math.Round(all.Select(coordinate).Order().ElementAt(all.Length / 2), 4);
    }

    private readonly record struct Example(double[] Inputs, double Error);
}
