using System.Globalization;
using AutoPlace.Registration;
using AutoPlace.Template;

namespace AutoPlace.Verification;

/// <summary>
/// Frames don't flip about their row: from joint to joint a frame turns as the template's does, to less than a right
/// angle.
/// </summary>
internal static class FrameFlipCheck
{
    internal const string Name = "frame-flip";

    internal static readonly CheckLimit Flip = new(90, "degrees", "common practice of rigging, no published source");

    internal static IEnumerable<Finding> Run(CheckedHead head)
    {
        foreach (JointSequence row in head.Placement.Rows)
        {
            foreach ((JointPlacement a, JointPlacement b) in head.SpansOf(row))
            {
                Rotation3d own = a.Joint.Rotation.Inverse() * b.Joint.Rotation;
                Rotation3d placed = a.Rotation.Inverse() * b.Rotation;
                double angle = Rotation3d.AngleDegrees(own, placed);
                if (angle > Flip.Value)
                {
                    string degrees = angle.ToString("F0", CultureInfo.InvariantCulture);
                    yield return Flip.Finding(
                        Name, Severity.Error, row.Name, angle,
                        $"From {a.Joint.Name} to {b.Joint.Name} the frame turns {degrees} degrees otherwise than in the template; the same control would pull neighbouring joints in different directions.");
                }
            }
        }
    }
}
