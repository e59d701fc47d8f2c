using System.Globalization;
using System.Numerics;
using AutoPlace.Geometry;
using AutoPlace.Registration;

namespace AutoPlace.Verification;

/// <summary>
/// Proportions of the head against those of 6,068 adults (ANSUR II, Gordon et al. 2014, NATICK/TR-15/007): the 1st to
/// 99th percentile of men and women together. One ratio outside is ordinary, three or more happen on one adult in two
/// hundred; stylised heads are outside by design, so this warns and never blocks.
/// </summary>
internal static class ProportionCheck
{
    internal const string Name = "proportions";

    internal static readonly CheckLimit Missed = new(
        3, "count", "ANSUR II: at least three ratios outside on 0.6 % of men and 0.5 % of women");

    /// <summary>Above this height in interocular distances the head's width is free of ears, and below it starts the head's length.</summary>
    private const double AboveEars = 0.35;

    /// <summary>Skin that doesn't reach this far behind the eyes has no back of the head.</summary>
    private const double BackOfHead = -1.8;

    internal static IEnumerable<Finding> Run(CheckedHead head, TriangleMesh skin)
    {
        (string Ratio, double Value, double Low, double High)[] outside =
            [.. Ratios(head, skin).Where(r => r.Value < r.Low || r.Value > r.High)];
        if (outside.Length >= Missed.Value)
        {
            string list = string.Join("; ", outside.Select(r =>
                string.Create(CultureInfo.InvariantCulture, $"{r.Ratio} {r.Value:F2} (adults {r.Low:F2} to {r.High:F2})")));
            yield return Missed.Finding(
                Name, Severity.Warning, "head", outside.Length,
                $"{outside.Length} proportions lie outside those of adults: {list}. Ordinary for a stylised head, a sign of misplaced landmarks on a realistic one.");
        }
    }

    /// <summary>The ratios that can be measured on this head, with the windows of adults.</summary>
    internal static IEnumerable<(string Ratio, double Value, double Low, double High)> Ratios(CheckedHead head, TriangleMesh skin)
    {
        double eyes = Distance(Landmark(head, "eye_centre_left"), Landmark(head, "eye_centre_right"));
        double cheeks = Distance(Joint(head, "zygion_left"), Joint(head, "zygion_right"));
        double face = Distance(Landmark(head, "nasion"), Landmark(head, "menton"));
        (double breadth, double length) = BreadthAndLength(skin);
        (string Ratio, double Value, double Low, double High)[] all =
        [
            ("interpupillary to bizygomatic breadth", eyes / cheeks, 0.395, 0.523),
            ("menton-sellion length to bizygomatic breadth", face / cheeks, 0.733, 1.000),
            ("interpupillary breadth to menton-sellion length", eyes / face, 0.445, 0.645),
            ("bizygomatic to head breadth", cheeks / breadth, 0.831, 1.000),
            ("head breadth to length", breadth / length, 0.699, 0.889),
            ("interpupillary breadth to head length", eyes / length, 0.280, 0.372),
        ];
        return all.Where(r => double.IsFinite(r.Value));
    }

    // Not found is NaN, so ratios of it are no finite numbers.
    private static double Distance(Vector3d? a, Vector3d? b) =>
        a is Vector3d p && b is Vector3d q ? Vector3d.Distance(p, q) : double.NaN;

    private static Vector3d? Landmark(CheckedHead head, string name) => head.SeenLandmark(name)?.Position;

    private static Vector3d? Joint(CheckedHead head, string name) =>
        head.Joint(name) is { State: JointState.Modelled } joint ? joint.Position : null;

    private static (double Breadth, double Length) BreadthAndLength(TriangleMesh skin)
    {
        (float left, float right, float front, float back) = (0, 0, float.NegativeInfinity, float.PositiveInfinity);
        foreach (int v in skin.Indices)
        {
            Vector3 p = skin.Positions[v];
            if (p.Y > AboveEars)
            {
                (left, right) = (MathF.Max(left, p.X), MathF.Min(right, p.X));
                (front, back) = (MathF.Max(front, p.Z), MathF.Min(back, p.Z));
            }
        }

        return back < BackOfHead ? (left - right, front - back) : (double.NaN, double.NaN);
    }
}
