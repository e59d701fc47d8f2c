using System.Globalization;
using AutoPlace.Geometry;
using AutoPlace.Landmarks;
using AutoPlace.Registration;
using AutoPlace.Template;

namespace AutoPlace.Verification;

/// <summary>
/// What the lattice does when the jaw opens by 20 degrees, the eyes turn by 30 and the lids close: a pivot that is off
/// looks right at rest. Lids and jaw are compared with the same motion of the template, which knows what is meant.
/// </summary>
internal static class MotionCheck
{
    internal const string Gaze = "gaze-turn", Lids = "lid-closing", Jaw = "jaw-opening";

    internal static readonly CheckLimit BallShift = new(
        0.01, "IOD", "own choice: about 0.6 mm on an adult, a third of a lid's thickness");

    internal static readonly CheckLimit LidDip = new(
        0.03, "IOD", "a lid's thickness of 2 mm on an adult (from memory)");

    internal static readonly CheckLimit LidGap = new(
        0.06, "IOD", "own choice: three times the tolerance of a joint of the lid");

    internal static readonly CheckLimit JawDirection = new(
        10, "degrees", "own choice: the hinge is off by a sixth of its distance from the chin");

    internal static readonly CheckLimit Opening = new(
        1 / 3.0, "ratio", "own choice: a third of the template's opening at this size");

    private const double JawDegrees = 20, GazeDegrees = 30;

    /// <summary>Steps in which a lid is closed.</summary>
    private const int LidSteps = 8;

    /// <summary>Lip joints that open by less in the template lie in the corner of the mouth, interocular distances.</summary>
    private const double OpensInTemplate = 0.05;

    internal static IEnumerable<Finding> Run(CheckedHead head) =>
        ((string[])["left", "right"]).SelectMany(side => TurnedEye(head, side).Concat(ClosedLids(head, side))).Concat(OpenedJaw(head));

    // Turned about a point beside its centre, a ball moves; one that isn't modelled can't.
    private static IEnumerable<Finding> TurnedEye(CheckedHead head, string side)
    {
        Ride ball = side == "left" ? Ride.EyeballLeft : Ride.EyeballRight;
        JointPlacement? pivot = head.Placement.Joints.FirstOrDefault(j => j.Joint.Kind == JointKind.Pivot && j.Joint.Ride == ball);
        if (pivot is null || head.SeenLandmark($"eye_centre_{side}") is not { Source: LandmarkSource.SphereFit } centre)
        {
            yield break;
        }

        double shift = 2 * Math.Sin(double.DegreesToRadians(GazeDegrees) / 2) * Vector3d.Distance(pivot.Position, centre.Position);
        if (shift > BallShift.Value)
        {
            yield return BallShift.Finding(
                Gaze, Severity.Warning, pivot.Joint.Name, shift,
                Text($"Turned by {GazeDegrees:F0} degrees about {pivot.Joint.Name} the eyeball moves by {shift:F3} of the interocular distance; it comes through a lid or leaves a gap."));
        }
    }

    private static IEnumerable<Finding> ClosedLids(CheckedHead head, string side)
    {
        if (Lid.Find(head, "upper", side) is not { } upper || Lid.Find(head, "lower", side) is not { } lower)
        {
            yield break;
        }

        Landmark? ball = head.SeenLandmark($"eye_centre_{side}") is { Source: LandmarkSource.SphereFit } fitted ? fitted : null;
        if (ball is not null)
        {
            foreach (Lid lid in (Lid[])[upper, lower])
            {
                (JointPlacement joint, double dip) = lid.DeepestDip(ball.Position);
                if (dip > LidDip.Value)
                {
                    yield return LidDip.Finding(
                        Lids, Severity.Warning, joint.Joint.Name, dip,
                        Text($"While the lid closes {joint.Joint.Name} comes {dip:F3} of the interocular distance nearer to the eyeball's centre than at rest; the ball shows through the lid."));
                }
            }
        }

        (string between, double gap) = Lid.WidestGap(upper, lower);
        if (gap > LidGap.Value)
        {
            yield return LidGap.Finding(
                Lids, ball is null ? Severity.Info : Severity.Warning, between, gap,
                Text($"With the lids closed {between} stays {gap:F3} of the interocular distance farther from its partner than in the template; the eye doesn't close there."));
        }
    }

    private static IEnumerable<Finding> OpenedJaw(CheckedHead head)
    {
        if (Hinge(head) is not { } hinge)
        {
            yield break;
        }

        var opening = new Turn(hinge.Position, double.DegreesToRadians(JawDegrees));
        Turn ownOpening = opening with { Centre = hinge.Joint.Position };
        HashSet<string> carried = Below(head, hinge.Joint.Name);
        JointPlacement? chin = head.Placement.Joints.Where(j => j.Joint.Kind == JointKind.Surface && carried.Contains(j.Joint.Name))
            .MaxBy(j => Vector3d.Distance(j.Joint.Position, hinge.Joint.Position));
        if (chin is not null)
        {
            Vector3d path = opening.Apply(chin.Position) - chin.Position;
            Vector3d own = ownOpening.Apply(chin.Joint.Position) - chin.Joint.Position;
            double apart = double.RadiansToDegrees(Math.Atan2(Vector3d.Cross(path, own).Length, Vector3d.Dot(path, own)));
            if (apart > JawDirection.Value)
            {
                yield return JawDirection.Finding(
                    Jaw, Severity.Warning, hinge.Joint.Name, apart,
                    Text($"As the jaw opens by {JawDegrees:F0} degrees {chin.Joint.Name} sets out {apart:F0} degrees off the way that it takes in the template; the hinge lies too high, low, near or far."));
            }
        }

        foreach ((JointPlacement above, JointPlacement below) in Pairs(head, "lip_upper_contact", "lip_lower_contact"))
        {
            if (carried.Contains(above.Joint.Name) == carried.Contains(below.Joint.Name))
            {
                continue;
            }

            double own = Vector3d.Distance(ownOpening.Apply(below.Joint.Position), above.Joint.Position) * below.LocalSize;
            double ratio = Vector3d.Distance(opening.Apply(below.Position), above.Position) / own;
            if (own > OpensInTemplate && ratio < Opening.Value)
            {
                yield return Opening.Finding(
                    Jaw, Severity.Warning, below.Joint.Name, ratio,
                    Text($"With the jaw open by {JawDegrees:F0} degrees {below.Joint.Name} is {ratio:F2} times as far from {above.Joint.Name} as in the template at this size; the mouth stays shut there."));
            }
        }
    }

    // What the lower jaw turns about: of the pivots that carry skin and neither an eye nor the upper teeth, the one that carries most.
    private static JointPlacement? Hinge(CheckedHead head)
    {
        (JointPlacement Joint, int Carries)[] hinges = [.. head.Placement.Joints
            .Where(j => j.Joint is { Kind: JointKind.Pivot, Ride: Ride.JawHinge })
            .Select(j => (Joint: j, Carried: Below(head, j.Joint.Name).Select(head.Joint).OfType<JointPlacement>().ToArray()))
            .Where(h => h.Carried.Any(j => j.Joint.Ride == Ride.Skin) && h.Carried.All(j => j.Joint.Ride is not (Ride.EyeballLeft or Ride.EyeballRight or Ride.TeethUpper)))
            .Select(h => (h.Joint, h.Carried.Length))];
        return hinges.Length > 0 ? hinges.MaxBy(h => h.Carries).Joint : null;
    }

    // Parents come before their children.
    private static HashSet<string> Below(CheckedHead head, string parent)
    {
        var below = new HashSet<string>(StringComparer.Ordinal) { parent };
        foreach (JointPlacement joint in head.Placement.Joints)
        {
            if (joint.Joint.Parent is { } above && below.Contains(above))
            {
                below.Add(joint.Joint.Name);
            }
        }

        below.Remove(parent);
        return below;
    }

    // The joints of two rows that face each other.
    private static IEnumerable<(JointPlacement Above, JointPlacement Below)> Pairs(CheckedHead head, string upper, string lower)
    {
        JointPlacement[] above = Row(head, upper), below = Row(head, lower);
        return above.Length == below.Length ? above.Zip(below) : [];
    }

    private static JointPlacement[] Row(CheckedHead head, string name) =>
        head.Placement.Rows.FirstOrDefault(row => row.Name == name) is { } row ? head.JointsOf(row) : [];

    private static string Text(FormattableString text) => text.ToString(CultureInfo.InvariantCulture);

    /// <summary>A turn about the axis to the subject's left through a point; up goes to the front.</summary>
    private readonly record struct Turn(Vector3d Centre, double Radians)
    {
        /// <summary>The turn that brings one direction from the point into another's height.</summary>
        public static Turn Between(Vector3d from, Vector3d to, Vector3d centre)
        {
            (Vector3d a, Vector3d b) = (from - centre, to - centre);
            return new(centre, Math.Atan2(b.Z, b.Y) - Math.Atan2(a.Z, a.Y));
        }

        public Vector3d Apply(Vector3d point)
        {
            Vector3d arm = point - Centre;
            (double sin, double cos) = Math.SinCos(Radians);
            return Centre + new Vector3d(arm.X, (arm.Y * cos) - (arm.Z * sin), (arm.Y * sin) + (arm.Z * cos));
        }
    }

    /// <summary>A lid: its margin, which turns with a parent until its middle is where lids meet; on this head and on the template.</summary>
    private sealed record Lid(JointPlacement[] Margin, string Parent, Turn Closing, Turn OwnClosing)
    {
        public static Lid? Find(CheckedHead head, string lid, string side)
        {
            JointPlacement[] margin = Row(head, $"lid_{lid}_margin_{side}");
            JointPlacement[] other = Row(head, $"lid_{(lid == "upper" ? "lower" : "upper")}_margin_{side}");
            if (margin.Length < 3 || other.Length != margin.Length || margin[margin.Length / 2].Joint.Parent is not { } parent || head.Joint(parent) is not { } centre)
            {
                return null;
            }

            JointPlacement middle = margin[margin.Length / 2], opposite = other[other.Length / 2];
            JointPlacement? line = Row(head, $"lid_closing_{side}") is { Length: > 0 } closing ? closing[closing.Length / 2] : null;
            return new Lid(
                margin,
                parent,
                Turn.Between(middle.Position, line?.Position ?? ((middle.Position + opposite.Position) / 2), centre.Position),
                Turn.Between(middle.Joint.Position, line?.Joint.Position ?? ((middle.Joint.Position + opposite.Joint.Position) / 2), centre.Joint.Position));
        }

        /// <summary>How much nearer than at rest a joint of the margin comes to a point on its way.</summary>
        public (JointPlacement Joint, double Dip) DeepestDip(Vector3d ball) => Margin.Where(Carries)
            .SelectMany(joint => Enumerable.Range(1, LidSteps).Select(step =>
                (joint, Vector3d.Distance(joint.Position, ball)
                    - Vector3d.Distance((Closing with { Radians = Closing.Radians * step / LidSteps }).Apply(joint.Position), ball))))
            .MaxBy(dip => dip.Item2);

        /// <summary>Where closed lids stay farthest apart, beyond what those of the template do.</summary>
        public static (string Joint, double Gap) WidestGap(Lid upper, Lid lower) => upper.Margin.Zip(lower.Margin)
            .Where(pair => upper.Carries(pair.First) && lower.Carries(pair.Second))
            .Select(pair => (pair.First.Joint.Name, Gap:
                Vector3d.Distance(upper.Closing.Apply(pair.First.Position), lower.Closing.Apply(pair.Second.Position))
                - (Vector3d.Distance(upper.OwnClosing.Apply(pair.First.Joint.Position), lower.OwnClosing.Apply(pair.Second.Joint.Position)) * pair.First.LocalSize)))
            .MaxBy(pair => pair.Gap);

        // The canthi stay.
        private bool Carries(JointPlacement joint) => joint.Joint.Parent == Parent;
    }
}
