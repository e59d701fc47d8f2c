using System.Globalization;
using AutoPlace.Geometry;
using AutoPlace.Landmarks;
using AutoPlace.Registration;
using AutoPlace.Template;

namespace AutoPlace.Verification;

/// <summary>
/// Eyes above nose above mouth above chin, left on the left, and rows and columns running the way the template's do.
/// </summary>
internal static class AnatomicalOrderCheck
{
    internal const string Name = "anatomical-order";

    internal static readonly CheckLimit Above = new(0, "IOD", "anatomy");

    internal static readonly CheckLimit Reversal = new(90, "degrees", "a span that runs against the template's");

    /// <summary>Pairs nearer to the midline than this in the template may cross it on an asymmetric head.</summary>
    private const double NearMidline = 0.02;

    private static readonly string[][] FromTop =
        [["eye_centre_left", "eye_centre_right"], ["subnasale"], ["cheilion_left", "cheilion_right", "stomion"], ["menton", "pogonion"]];

    internal static IEnumerable<Finding> Run(CheckedHead head) =>
        TopToBottom(head).Concat(LeftAndRight(head)).Concat(Reversals(head));

    private static IEnumerable<Finding> TopToBottom(CheckedHead head)
    {
        (string Name, double Height)? above = null;
        foreach (string[] level in FromTop)
        {
            Landmark[] seen = [.. level.Select(head.SeenLandmark).OfType<Landmark>()];
            if (seen.Length == 0)
            {
                continue;
            }

            // Of the chin the lowest point counts, elsewhere the mean.
            double height = level[0] == "menton" ? seen.Min(l => l.Position.Y) : seen.Average(l => l.Position.Y);
            if (above is (string name, double aboveHeight) && height >= aboveHeight)
            {
                yield return Above.Finding(
                    Name, Severity.Error, seen[0].Name, aboveHeight - height,
                    $"{seen[0].Name} lies above {name}; the head is probably upside down or was not recognised.");
            }

            above = (seen[0].Name, height);
        }
    }

    private static IEnumerable<Finding> LeftAndRight(CheckedHead head)
    {
        foreach (Landmark left in head.Landmarks.Where(l => l.Name.EndsWith("_left", StringComparison.Ordinal)))
        {
            if (head.SeenLandmark(left.Name) is not null
                && head.SeenLandmark(LandmarkNames.Mirror(left.Name)) is Landmark right
                && Crossed(left.Name, right.Name, left.Position.X - right.Position.X) is Finding finding)
            {
                yield return finding;
            }
        }

        foreach ((JointPlacement left, JointPlacement right) in head.Twins)
        {
            if (left.State != JointState.Absent
                && left.Joint.Position.X - right.Joint.Position.X > NearMidline
                && Crossed(left.Joint.Name, right.Joint.Name, left.Position.X - right.Position.X) is Finding finding)
            {
                yield return finding;
            }
        }
    }

    private static Finding? Crossed(string left, string right, double leftOfTwin) => leftOfTwin > 0 ? null : Above.Finding(
        Name, Severity.Error, left, leftOfTwin,
        $"{left} lies to the subject's right of {right}; left and right are exchanged.");

    private static IEnumerable<Finding> Reversals(CheckedHead head)
    {
        foreach (JointSequence row in head.Placement.Rows.Concat(head.Placement.Columns))
        {
            foreach ((JointPlacement a, JointPlacement b) in head.SpansOf(row))
            {
                (Vector3d own, Vector3d placed) = (b.Joint.Position - a.Joint.Position, b.Position - a.Position);
                double angle = Math.Atan2(Vector3d.Cross(own, placed).Length, Vector3d.Dot(own, placed)) * (180 / Math.PI);
                if (angle > Reversal.Value && own.Length > NearMidline)
                {
                    bool modelled = a.State == JointState.Modelled && b.State == JointState.Modelled;
                    string degrees = angle.ToString("F0", CultureInfo.InvariantCulture);
                    yield return Reversal.Finding(
                        Name, modelled ? Severity.Error : Severity.Warning, row.Name, angle,
                        $"In {row.Name} the step from {a.Joint.Name} to {b.Joint.Name} runs {degrees} degrees away from the template's; joints of a row must not change places.");
                }
            }
        }
    }
}
