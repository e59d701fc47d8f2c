using System.Globalization;
using AutoPlace.Geometry;
using AutoPlace.Registration;
using AutoPlace.Template;

namespace AutoPlace.Verification;

/// <summary>
/// The curve through a row may float a little between the joints, it may not sink. Spans that touch a fold are left
/// out: between two joints in a fold there is no telling which patch the curve belongs to.
/// </summary>
internal static class RowCurveCheck
{
    internal const string Name = "row-curve";

    internal static readonly CheckLimit SinkWarning = new(
        -0.01, "IOD", "own choice: about 0.6 mm on an adult");

    internal static readonly CheckLimit SinkError = new(
        -0.06, "IOD", "own choice: about 4 mm on an adult; the row runs through the flesh");

    private static readonly double[] Samples = [0.25, 0.5, 0.75];

    internal static IEnumerable<Finding> Run(CheckedHead head)
    {
        if (!head.Skin.IsKnown)
        {
            yield break;
        }

        foreach (JointSequence row in head.Placement.Rows)
        {
            (double clearance, string between) = Deepest(head, row);
            if (clearance < SinkWarning.Value)
            {
                bool deep = clearance < SinkError.Value;
                string depth = clearance.ToString("F3", CultureInfo.InvariantCulture);
                yield return (deep ? SinkError : SinkWarning).Finding(
                    Name, deep ? Severity.Error : Severity.Warning, row.Name, clearance,
                    $"The curve through {row.Name} lies under the skin between {between} (clearance {depth} of the interocular distance); a row should follow the skin between its joints too.");
            }
        }
    }

    private static (double Clearance, string Between) Deepest(CheckedHead head, JointSequence row)
    {
        JointPlacement[] joints = head.JointsOf(row);
        if (joints.Length == 0)
        {
            return (double.PositiveInfinity, "");
        }

        var curve = new CatmullRomCurve([.. joints.Select(j => j.Position)], row.Closed);
        (double deepest, string between) = (double.PositiveInfinity, "");
        for (int span = 0; span < curve.SpanCount; span++)
        {
            (JointPlacement a, JointPlacement b) = (joints[span], joints[(span + 1) % joints.Length]);
            if (!RidesOpenSkin(a) || !RidesOpenSkin(b))
            {
                continue;
            }

            foreach (double t in Samples)
            {
                double clearance = head.Skin.Signed(curve.Position(span + t));
                if (clearance < deepest)
                {
                    (deepest, between) = (clearance, $"{a.Joint.Name} and {b.Joint.Name}");
                }
            }
        }

        return (deepest, between);
    }

    private static bool RidesOpenSkin(JointPlacement joint) =>
        joint.Joint.Kind == JointKind.Surface && !joint.Joint.InFold && joint.Lift >= 0 && joint.State == JointState.Modelled;
}
