using System.Globalization;
using AutoPlace.Registration;
using AutoPlace.Template;

namespace AutoPlace.Verification;

/// <summary>
/// A surface joint keeps its signed lift: it may float a little, it may not sink. A joint in a fold (lid margin, lip
/// contact, commissure, nostril) is judged against its own patch of skin, since the opposite one lies nearer. A rigid group
/// keeps its shape, so that its joints can't each keep their lift: it is judged as one thing, by the mean of its joints, and
/// by the deepest of them where it sinks. A joint that a person locked is judged by itself, by the lift that it was given on the
/// head where that was; that it was given one under the skin where the template has it above is worth a warning.
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

    private const string Creases = "skin over a sunken joint creases when it moves.";

    internal static IEnumerable<Finding> Run(CheckedHead head) => head.Placement.Joints
        .Where(joint => joint.Joint.Kind == JointKind.Surface && joint.State == JointState.Modelled)
        .Select(joint => Clearance(head, joint) is double clearance ? new Floating(joint, clearance) : null)
        .OfType<Floating>()
        .GroupBy(floating => (floating.RigidGroup, Alone: floating.RigidGroup is null ? floating.Name : null))
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
        bool locked = thing[0].IsLocked;
        string alsoLocked = locked ? " is locked and" : string.Empty;
        if (thing.Where(f => f.Joint.Lift >= 0).MinBy(f => f.Clearance) is { } deepest && deepest.Clearance < SinkWarning.Value)
        {
            bool deep = deepest.Clearance < SinkError.Value;
            string of = group is null ? string.Empty : $" of the rigid group {group}";
            return (deep ? SinkError : SinkWarning).Finding(
                Name, deep ? Severity.Error : Severity.Warning, deepest.Name, deepest.Clearance,
                $"{deepest.Name}{of}{alsoLocked} lies under the skin ({Measured(deepest.Clearance, deepest.Joint.Lift)}); {Creases}");
        }

        double clearance = thing.Average(f => f.Clearance), lift = thing.Average(f => f.Joint.Lift), off = clearance - lift;
        string worst = thing.MaxBy(f => Math.Abs(f.Off))!.Name;
        if (Math.Abs(off) > Deviation.Value * Math.Max(1, thing.Average(f => f.Joint.LocalSize)))
        {
            string what = group is null ? worst : $"Rigid group {group}, {worst} most,";
            string mean = group is null ? string.Empty : "mean ";
            return Deviation.Finding(
                Name, Severity.Warning, worst, Math.Abs(off),
                $"{what}{alsoLocked} is {(off > 0 ? "farther out" : "deeper")} than {(locked ? "it was set" : "the template has it")} ({mean}{Measured(clearance, lift)}).");
        }

        double meant = thing[0].Joint.Joint.Lift * thing[0].Joint.LocalSize;
        return locked && meant >= 0 && clearance < SinkWarning.Value
            ? SinkWarning.Finding(
                Name, Severity.Warning, worst, clearance,
                $"{worst} is locked under the skin ({Measured(clearance, lift)}, of the template {meant.ToString("F3", CultureInfo.InvariantCulture)}); {Creases}")
            : null;
    }

    private static string Measured(double clearance, double lift) => string.Create(
        CultureInfo.InvariantCulture, $"clearance {clearance:F3} of the interocular distance, lift {lift:F3}");

    private sealed record Floating(JointPlacement Joint, double Clearance)
    {
        public string Name => Joint.Joint.Name;

        public bool IsLocked => Joint.PositionLocked;

        public string? RigidGroup => IsLocked ? null : Joint.Joint.RigidGroup;

        public double Off => Clearance - Joint.Lift;
    }
}
