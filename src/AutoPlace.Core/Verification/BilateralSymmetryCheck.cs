using System.Globalization;
using AutoPlace.Geometry;
using AutoPlace.Registration;

namespace AutoPlace.Verification;

/// <summary>Left joints against their mirrored right twins, reported for each region; an asymmetric head may trip it.</summary>
internal static class BilateralSymmetryCheck
{
    internal const string Name = "bilateral-symmetry";

    internal static readonly CheckLimit Noticeable = new(
        0.06, "IOD", "own choice: about 4 mm on an adult, more than most faces differ between their sides");

    internal static readonly CheckLimit Strong = new(
        0.15, "IOD", "own choice: about 10 mm on an adult");

    /// <summary>Pairs that the template itself doesn't mirror to this are left out.</summary>
    private const double MirroredInTemplate = 0.01;

    internal static IEnumerable<Finding> Run(CheckedHead head)
    {
        var regions = new SortedDictionary<string, (double Sum, int Count)>(StringComparer.Ordinal);
        foreach ((JointPlacement left, JointPlacement right) in head.Twins)
        {
            if (OffMirror(left.Joint.Position, right.Joint.Position) <= MirroredInTemplate)
            {
                (double sum, int count) = regions.GetValueOrDefault(left.Joint.Region ?? "other");
                regions[left.Joint.Region ?? "other"] = (sum + OffMirror(left.Position, right.Position), count + 1);
            }
        }

        foreach ((string region, (double sum, int count)) in regions)
        {
            double mean = sum / count;
            if (mean > Noticeable.Value)
            {
                bool strong = mean > Strong.Value;
                string off = mean.ToString("F3", CultureInfo.InvariantCulture);
                yield return (strong ? Strong : Noticeable).Finding(
                    Name, strong ? Severity.Warning : Severity.Info, region, mean,
                    $"Left and right of the region {region} differ by {off} of the interocular distance on average; right is the mirror image of left unless the head is asymmetric.");
            }
        }
    }

    private static double OffMirror(Vector3d left, Vector3d right) =>
        Vector3d.Distance(left, new Vector3d(-right.X, right.Y, right.Z));
}
