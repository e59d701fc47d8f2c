using System.Globalization;
using AutoPlace.Geometry;
using AutoPlace.Registration;
using AutoPlace.Template;

namespace AutoPlace.Verification;

/// <summary>
/// Within a half row the direction turns by less than a right angle from span to span. The midline, commissures and
/// canthi end a half row; so does any joint at which the template itself turns that much.
/// </summary>
internal static class RowTurnCheck
{
    internal const string Name = "row-turn";

    internal static readonly CheckLimit Turn = new(90, "degrees", "common practice of rigging, no published source");

    internal static readonly CheckLimit Target = new(45, "degrees", "common practice of rigging, no published source");

    private static readonly string[] HalfRowEnds = ["canth", "commissure", "cheilion"];

    internal static IEnumerable<Finding> Run(CheckedHead head)
    {
        foreach (JointSequence row in head.Placement.Rows.Concat(head.Placement.Columns))
        {
            if (Sharpest(head, row) is (JointPlacement joint, double turn) && turn > Target.Value)
            {
                bool folds = turn >= Turn.Value;
                Severity severity = !folds ? Severity.Info
                    : joint.State == JointState.Modelled ? Severity.Error
                    : Severity.Warning;
                string angle = turn.ToString("F0", CultureInfo.InvariantCulture);
                yield return (folds ? Turn : Target).Finding(
                    Name, severity, row.Name, turn,
                    $"{row.Name} turns by {angle} degrees at {joint.Joint.Name}; skin pinches where a row doubles back.");
            }
        }
    }

    // A turn beyond the target counts only where the template keeps to the target itself; of a closed row, what it turns by
    // beyond the share of a full turn that each of its joints has to have.
    private static (JointPlacement Joint, double Turn)? Sharpest(CheckedHead head, JointSequence row)
    {
        JointPlacement[] joints = head.JointsOf(row);
        int n = joints.Length;
        double least = row.Closed ? 360.0 / n : 0;
        (JointPlacement Joint, double Turn)? sharpest = null;
        for (int i = row.Closed ? 0 : 1; i < n - (row.Closed ? 0 : 1); i++)
        {
            (JointPlacement before, JointPlacement at, JointPlacement after) = (joints[(i + n - 1) % n], joints[i], joints[(i + 1) % n]);
            double own = TurnDegrees(before.Joint.Position, at.Joint.Position, after.Joint.Position) - least;
            double turn = TurnDegrees(before.Position, at.Position, after.Position) - least;
            bool crossesMidline = at.Joint.Side == Side.Middle && before.Joint.Side != Side.Middle;
            bool endsHalfRow = own >= Turn.Value || crossesMidline
                || HalfRowEnds.Any(part => at.Joint.Name.Contains(part, StringComparison.OrdinalIgnoreCase));
            bool asTemplate = turn < Turn.Value && own > Target.Value;
            if (!endsHalfRow && !asTemplate && (sharpest is null || turn > sharpest.Value.Turn))
            {
                sharpest = (at, turn);
            }
        }

        return sharpest;
    }

    private static double TurnDegrees(Vector3d before, Vector3d at, Vector3d after)
    {
        (Vector3d a, Vector3d b) = (at - before, after - at);
        return Math.Atan2(Vector3d.Cross(a, b).Length, Vector3d.Dot(a, b)) * (180 / Math.PI);
    }
}
