using System.Globalization;
using AutoPlace.Registration;
using AutoPlace.Template;

namespace AutoPlace.Verification;

/// <summary>Within a half row the direction turns by less than a right angle from span to span (<see cref="RowTurns"/>).</summary>
internal static class RowTurnCheck
{
    internal const string Name = "row-turn";

    internal static readonly CheckLimit Turn = new(RowTurns.Most, "degrees", "common practice of rigging, no published source");

    internal static readonly CheckLimit Target = new(RowTurns.Target, "degrees", "common practice of rigging, no published source");

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

    private static (JointPlacement Joint, double Turn)? Sharpest(CheckedHead head, JointSequence row)
    {
        JointPlacement[] joints = head.JointsOf(row);
        int n = joints.Length;
        (JointPlacement Joint, double Turn)? sharpest = null;
        for (int i = row.Closed ? 0 : 1; i < n - (row.Closed ? 0 : 1); i++)
        {
            if (RowTurns.At(joints[(i + n - 1) % n], joints[i], joints[(i + 1) % n], row.Closed ? 360.0 / n : 0) is { } turn
                && (sharpest is null || turn > sharpest.Value.Turn))
            {
                sharpest = (joints[i], turn);
            }
        }

        return sharpest;
    }
}
