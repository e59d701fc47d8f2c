using System.Globalization;
using AutoPlace.Landmarks;
using AutoPlace.Registration;
using AutoPlace.Template;

namespace AutoPlace.Verification;

/// <summary>
/// What holds on any head: numbers are finite, parents come first, joints on the template's midline stay near the
/// midsagittal plane, a joint with a side has its twin.
/// </summary>
internal static class InvariantCheck
{
    internal const string Pose = "pose";
    internal const string Parents = "parents";
    internal const string Midline = "midline";
    internal const string Twins = "twins";

    internal static readonly CheckLimit UnitQuaternion = new(1e-4, "ratio", "rounding of files");

    internal static readonly CheckLimit ParentFirst = new(1, "count", "every parent is an earlier joint");

    internal static readonly CheckLimit OffMidline = new(
        0.05, "IOD", "own choice: about 3 mm on an adult, what the midline of a real face strays from its best plane");

    internal static readonly CheckLimit Twin = new(1, "count", "left and right come in pairs");

    /// <summary>A joint without a side that is nearer to x = 0 than this in the template is on its midline.</summary>
    private const double OnMidline = 1e-6;

    internal static IEnumerable<Finding> Run(CheckedHead head)
    {
        var earlier = new HashSet<string>(StringComparer.Ordinal);
        foreach (JointPlacement joint in head.Placement.Joints)
        {
            string name = joint.Joint.Name;
            double norm = joint.Rotation.Norm;
            if (!joint.Position.IsFinite || !(Math.Abs(norm - 1) <= UnitQuaternion.Value))
            {
                double off = double.IsFinite(norm) ? Math.Abs(norm - 1) : 1;
                yield return UnitQuaternion.Finding(
                    Pose, Severity.Error, name, off, $"{name} has no valid position or rotation.");
            }

            if (joint.Joint.Parent is string parent && !earlier.Contains(parent))
            {
                yield return ParentFirst.Finding(
                    Parents, Severity.Error, name, 0, $"{name} hangs on {parent}, which is no earlier joint.");
            }

            earlier.Add(name);
            if (JudgeMidline(joint) is Finding strays)
            {
                yield return strays;
            }

            string? byName = joint.Joint.Side is Side.Left or Side.Right && LandmarkNames.Mirror(name) is var mirrored && mirrored != name ? mirrored : null;
            if ((joint.Joint.Twin ?? byName) is string twin && head.Joint(twin) is null)
            {
                yield return Twin.Finding(Twins, Severity.Warning, name, 0, $"{name} has no twin {twin}.");
            }
        }
    }

    private static Finding? JudgeMidline(JointPlacement joint)
    {
        bool onMidline = joint.Joint.Side == Side.Middle || (joint.Joint.Side is null && Math.Abs(joint.Joint.Position.X) < OnMidline);
        double off = Math.Abs(joint.Position.X);
        return !onMidline || !(off > OffMidline.Value) ? null : OffMidline.Finding(
            Midline, Severity.Warning, joint.Joint.Name, off,
            $"{joint.Joint.Name} lies {off.ToString("F3", CultureInfo.InvariantCulture)} of the interocular distance off the midsagittal plane; the template has it on the plane.");
    }
}
