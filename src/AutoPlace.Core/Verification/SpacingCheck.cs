using System.Globalization;
using AutoPlace.Geometry;
using AutoPlace.Registration;
using AutoPlace.Template;

namespace AutoPlace.Verification;

/// <summary>
/// Neighbours in a row or column keep their distance in proportion to the region's size; joints that are apart in the
/// template don't fall together, and joints that coincide there stay together.
/// </summary>
internal static class SpacingCheck
{
    internal const string Name = "spacing";

    internal static readonly CheckLimit Widest = new(3, "ratio", "own choice: a span three times as long as its region's size says");

    internal static readonly CheckLimit Narrowest = new(1 / 3.0, "ratio", "own choice: a span a third as long as its region's size says");

    internal static readonly CheckLimit Together = new(1e-4, "IOD", "own choice: below the rounding of most files");

    /// <summary>Joints nearer than this in the template say nothing about spacing.</summary>
    private const double ApartInTemplate = 0.01;

    internal static IEnumerable<Finding> Run(CheckedHead head) => Spans(head).Concat(Pairs(head));

    private static IEnumerable<Finding> Spans(CheckedHead head)
    {
        foreach (JointSequence row in head.Placement.Rows.Concat(head.Placement.Columns))
        {
            foreach ((JointPlacement a, JointPlacement b) in head.SpansOf(row))
            {
                double own = Vector3d.Distance(a.Joint.Position, b.Joint.Position) * ((a.LocalSize + b.LocalSize) / 2);
                if (own < ApartInTemplate || a.State == JointState.Absent || b.State == JointState.Absent)
                {
                    continue;
                }

                double ratio = Vector3d.Distance(a.Position, b.Position) / own;
                if (ratio > Widest.Value || ratio < Narrowest.Value)
                {
                    string times = ratio.ToString("F2", CultureInfo.InvariantCulture);
                    yield return (ratio > 1 ? Widest : Narrowest).Finding(
                        Name, Severity.Warning, row.Name, ratio,
                        $"In {row.Name} the span from {a.Joint.Name} to {b.Joint.Name} is {times} times as long as the template's at this size; uneven spans bend unevenly.");
                }
            }
        }
    }

    private static IEnumerable<Finding> Pairs(CheckedHead head)
    {
        IReadOnlyList<JointPlacement> joints = head.Placement.Joints;
        for (int i = 0; i < joints.Count; i++)
        {
            for (int j = 0; j < i; j++)
            {
                double own = Vector3d.Distance(joints[i].Joint.Position, joints[j].Joint.Position);
                double placed = Vector3d.Distance(joints[i].Position, joints[j].Position);
                if (own > ApartInTemplate && placed < Together.Value && joints[i].State == JointState.Modelled)
                {
                    yield return Together.Finding(
                        Name, Severity.Error, joints[i].Joint.Name, placed,
                        $"{joints[i].Joint.Name} and {joints[j].Joint.Name} fell together; the template has them apart.");
                }
                else if (own == 0 && placed > Together.Value)
                {
                    yield return Together.Finding(
                        Name, Severity.Error, joints[i].Joint.Name, placed,
                        $"{joints[i].Joint.Name} and {joints[j].Joint.Name} coincide in the template and must stay together.");
                }
            }
        }
    }
}
