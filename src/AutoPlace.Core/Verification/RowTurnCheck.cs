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
            if (RowTurns.Along(head.JointsOf(row), row.Closed).MaxBy(turn => turn.Degrees) is { } sharpest && sharpest.Degrees > Target.Value)
            {
                (JointPlacement joint, double turn) = (sharpest.At, sharpest.Degrees);
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
}
