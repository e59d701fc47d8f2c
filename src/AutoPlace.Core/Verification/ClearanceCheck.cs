using System.Globalization;
using AutoPlace.Registration;
using AutoPlace.Template;

namespace AutoPlace.Verification;

/// <summary>
/// A surface joint keeps its signed lift: it may float a little, it may not sink. A joint in a fold (lid margin, lip
/// contact, commissure, nostril) is judged against its own patch of skin, since the opposite one lies nearer. A rigid group
/// keeps its shape, so that its joints can't each keep their lift: it is judged as one thing, by the mean of its joints, and
/// by the deepest of them where it sinks.
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

    internal static IEnumerable<Finding> Run(CheckedHead head) => head.Placement.Joints
        .Where(joint => joint.Joint.Kind == JointKind.Surface && joint.State == JointState.Modelled)
        .Select(joint => Clearance(head, joint) is double clearance ? new Floating(joint, clearance) : null)
        .OfType<Floating>()
        .GroupBy(floating => (floating.Joint.Joint.RigidGroup, Alone: floating.Joint.Joint.RigidGroup is null ? floating.Name : null))
        .Select(thing => Judge(thing.Key.RigidGroup, [.. thing]))
        .OfType<Finding>();

    /// <summary>Measured signed distance from the skin, or null when there is nothing to measure to.</summary>
    internal static double? Clearance(CheckedHead head, JointPlacement joint) =>
        joint.Joint.InFold ? head.DistanceFromOwnPatch(joint)
        : head.Skin.IsKnown ? head.Skin.Signed(joint.Position)
        : null;

    // One joint, or the joints of a rigid group.
    private static Finding? Judge(string? group, Floating[] thing)
    {
        if (thing.Where(f => f.Joint.Lift >= 0).MinBy(f => f.Clearance) is { } deepest && deepest.Clearance < SinkWarning.Value)
        {
            bool deep = deepest.Clearance < SinkError.Value;
            string of = group is null ? string.Empty : $" of the rigid group {group}";
            return (deep ? SinkError : SinkWarning).Finding(
                Name, deep ? Severity.Error : Severity.Warning, deepest.Name, deepest.Clearance,
                $"{deepest.Name}{of} lies under the skin ({Measured(deepest.Clearance, deepest.Joint.Lift)}); skin over a sunken joint creases when it moves.");
        }

        double clearance = thing.Average(f => f.Clearance), lift = thing.Average(f => f.Joint.Lift), off = clearance - lift;
        string worst = thing.MaxBy(f => Math.Abs(f.Off))!.Name;
        string what = group is null ? worst : $"Rigid group {group}, {worst} most,";
        string mean = group is null ? string.Empty : "mean ";
        return Math.Abs(off) <= Deviation.Value * Math.Max(1, thing.Average(f => f.Joint.LocalSize))
            ? null
            : Deviation.Finding(
                Name, Severity.Warning, worst, Math.Abs(off),
                $"{what} is {(off > 0 ? "farther out" : "deeper")} than the template has it ({mean}{Measured(clearance, lift)}).");
    }

    private static string Measured(double clearance, double lift) => string.Create(
        CultureInfo.InvariantCulture, $"clearance {clearance:F3} of the interocular distance, lift {lift:F3}");

    private sealed record Floating(JointPlacement Joint, double Clearance)
    {
        public string Name => Joint.Joint.Name;

        public double Off => Clearance - Joint.Lift;
    }
}
