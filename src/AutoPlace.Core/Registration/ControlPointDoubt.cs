using AutoPlace.Geometry;
using AutoPlace.Landmarks;

namespace AutoPlace.Registration;

/// <summary>
/// Where correspondences and landmarks contradict each other the correspondences are in doubt: on painted, flat or bulging
/// eyes and on features of their own they are wrong together, each of them sure, while the landmarks stay right.
/// </summary>
internal static class ControlPointDoubt
{
    /// <summary>What correspondences and landmarks differ by on heads that both read well, interocular distances.</summary>
    private const double Usual = 0.05;

    /// <summary>... and in standard deviations of both.</summary>
    private const double UsualDeviations = 2;

    /// <summary>Distance in the atlas at which a contradiction counts 0.61 as much, interocular distances: half an eye's width.</summary>
    private const double Nearness = 0.15;

    /// <summary>Control points with variances that are larger near to what is contradicted.</summary>
    /// <param name="controls">Control points as the correspondences have them.</param>
    /// <param name="atLandmarks">Landmarks' atlas points, by name, as the correspondences have them.</param>
    /// <param name="landmarks">The same landmarks as the views have them.</param>
    public static IReadOnlyList<ControlPoint> Widened(
        IReadOnlyList<ControlPoint> controls, IReadOnlyDictionary<string, ControlPoint> atLandmarks, IReadOnlyList<Landmark> landmarks)
    {
        (Vector3d Atlas, double Excess)[] contradicted = [.. landmarks
            .Where(l => l.Source != LandmarkSource.Inferred && atLandmarks.ContainsKey(l.Name))
            .Select(l => (atLandmarks[l.Name].Atlas, Excess(l, atLandmarks[l.Name])))
            .Where(l => l.Item2 > 0)];
        return contradicted.Length == 0 ? controls : [.. controls.Select(control =>
        {
            double widest = contradicted.Max(l => l.Excess * l.Excess * Math.Exp(-(l.Atlas - control.Atlas).LengthSquared / (2 * Nearness * Nearness)));
            return control with { Variance = control.Variance + widest };
        })];
    }

    private static double Excess(Landmark landmark, ControlPoint seen) =>
        Vector3d.Distance(landmark.Position, seen.Head) - Usual
        - (UsualDeviations * Math.Sqrt((landmark.Covariance.Trace / 3) + seen.Variance));
}
