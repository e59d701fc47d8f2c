using System.Globalization;
using AutoPlace.Registration;
using AutoPlace.Template;

namespace AutoPlace.Verification;

/// <summary>
/// A surface joint keeps its signed lift: it may float a little, it may not sink. A joint in a fold (lid margin, lip
/// contact, commissure, nostril) is judged against its own patch of skin, since the opposite one lies nearer.
/// </summary>
internal static class ClearanceCheck
{
    internal const string Name = "clearance";

    internal static readonly CheckLimit SinkError = new(
        -0.02, "IOD", "own choice: about 1.3 mm on an adult, a third of a lid's height below the skin");

    internal static readonly CheckLimit SinkWarning = new(
        -0.002, "IOD", "own choice: about 0.1 mm on an adult, the chord error of an ordinary head mesh");

    internal static readonly CheckLimit Deviation = new(
        0.04, "IOD", "own choice: about 2.5 mm on an adult, twice what two people differ by (Berends et al. 2024: 1.3 mm)");

    internal static IEnumerable<Finding> Run(CheckedHead head)
    {
        foreach (JointPlacement joint in head.Placement.Joints)
        {
            if (joint.Joint.Kind == JointKind.Surface && joint.State == JointState.Modelled
                && Clearance(head, joint) is double clearance
                && Judge(joint, clearance) is Finding finding)
            {
                yield return finding;
            }
        }
    }

    /// <summary>Measured signed distance from the skin, or null when there is nothing to measure to.</summary>
    internal static double? Clearance(CheckedHead head, JointPlacement joint) =>
        joint.Joint.InFold ? head.DistanceFromOwnPatch(joint)
        : head.Skin.IsKnown ? head.Skin.Signed(joint.Position)
        : null;

    private static Finding? Judge(JointPlacement joint, double clearance)
    {
        string name = joint.Joint.Name;
        string measured = string.Create(
            CultureInfo.InvariantCulture, $"clearance {clearance:F3} of the interocular distance, lift {joint.Lift:F3}");
        if (joint.Lift >= 0 && clearance < SinkWarning.Value)
        {
            bool deep = clearance < SinkError.Value;
            return (deep ? SinkError : SinkWarning).Finding(
                Name, deep ? Severity.Error : Severity.Warning, name, clearance,
                $"{name} lies under the skin ({measured}); skin over a sunken joint creases when it moves.");
        }

        double off = clearance - joint.Lift;
        return Math.Abs(off) <= Deviation.Value * Math.Max(1, joint.LocalSize)
            ? null
            : Deviation.Finding(
                Name, Severity.Warning, name, Math.Abs(off),
                $"{name} is {(off > 0 ? "farther out" : "deeper")} than the template has it ({measured}).");
    }
}
