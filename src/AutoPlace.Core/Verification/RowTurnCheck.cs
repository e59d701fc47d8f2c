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

    /// <summary>
    /// So much more than the template's own a turn may be on other heads, degrees: the true joints of the eight demonstration
    /// heads turn by up to 13.5 more, of 1,048 turns one in a hundred by more than 9. Without, a corner that the template has to
    /// the target itself, as at the chin's sides, is told on most heads.
    /// </summary>
    private const double BeyondOwn = 15;

    internal static IEnumerable<Finding> Run(CheckedHead head)
    {
        foreach (JointSequence row in head.Placement.Rows.Concat(head.Placement.Columns))
        {
            if (RowTurns.Along(head.JointsOf(row), row.Closed).Where(IsSharp).MaxBy(turn => turn.Degrees) is { } sharpest)
            {
                (JointPlacement joint, double turn) = (sharpest.At, sharpest.Degrees);
                bool folds = turn >= Turn.Value;
                Severity severity = !folds ? Severity.Info
                    : joint.State == JointState.Modelled ? Severity.Error
                    : Severity.Warning;
                string angle = turn.ToString("F0", CultureInfo.InvariantCulture);
                yield return (folds ? Turn : TargetOf(sharpest)).Finding(
                    Name, severity, row.Name, turn,
                    $"{row.Name} turns by {angle} degrees at {joint.Joint.Name}; skin pinches where a row doubles back.");
            }
        }
    }

    private static bool IsSharp(RowTurn turn) => turn.Degrees >= Turn.Value || turn.Degrees > TargetOf(turn).Value;

    private static CheckLimit TargetOf(RowTurn turn) => Target with { Value = Math.Max(Target.Value, turn.OwnDegrees + BeyondOwn) };
}
