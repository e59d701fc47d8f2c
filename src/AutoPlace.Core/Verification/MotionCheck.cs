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

    /// <summary>Fewer joints are no row of a lid or lip.</summary>
    private const int FewestOfRow = 3;

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
        if (Lid.Find(head, side == "left" ? Ride.EyeballLeft : Ride.EyeballRight) is not var (upper, lower))
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

        foreach ((JointPlacement above, JointPlacement below) in PartingLips(head, carried))
        {
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

    // Of the rows of lips that stay with the skull and of those that the jaw carries the two nearest to each other: each joint
    // of the upper one with its nearest in the lower one. All in the template, whatever the rows are called.
    private static IEnumerable<(JointPlacement Above, JointPlacement Below)> PartingLips(CheckedHead head, HashSet<string> carried)
    {
        JointPlacement[][] rows = [.. RowsOf(head, "lip")];
        return (from above in rows
                where !IsCarried(Middle(above))
                from below in rows
                where IsCarried(Middle(below))
                let pairs = above.Where(joint => !IsCarried(joint)).Select(joint => (Above: joint, Below: NearestTo(joint.Joint.Position, below, j => j.Joint.Position))).ToArray()
                orderby pairs.Average(pair => Vector3d.Distance(pair.Above.Joint.Position, pair.Below.Joint.Position))
                select pairs.Where(pair => IsCarried(pair.Below))).FirstOrDefault() ?? [];

        bool IsCarried(JointPlacement joint) => carried.Contains(joint.Joint.Name);
    }

    // Rows on the skin of a region.
    private static IEnumerable<JointPlacement[]> RowsOf(CheckedHead head, string region) => head.Placement.Rows.Select(head.JointsOf)
        .Where(row => row.Length >= FewestOfRow && Middle(row).Joint is { Ride: Ride.Skin } joint && joint.Region == region);

    private static JointPlacement Middle(JointPlacement[] row) => row[row.Length / 2];

    private static JointPlacement NearestTo(Vector3d place, JointPlacement[] row, Func<JointPlacement, Vector3d> at) =>
        row.MinBy(joint => Vector3d.Distance(at(joint), place))!;

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

    /// <summary>A lid: its margin, of which each joint turns with its parent, which rides on the eyeball, until its middle is where lids meet; by how much, radians, on this head and on the template.</summary>
    private sealed record Lid(CheckedHead Head, Ride Ball, JointPlacement[] Margin, double Closing, double OwnClosing)
    {
        /// <summary>Both lids of an eye: of the rows that turn about it the two next to each other above and below its centre, seen from the front, in the template.</summary>
        public static (Lid Upper, Lid Lower)? Find(CheckedHead head, Ride ball)
        {
            (JointPlacement[] Row, double Height)[] rows = [.. from row in RowsOf(head, "eyelid")
                                                               let pivot = Pivot(head, ball, Middle(row))
                                                               where pivot is not null
                                                               select (row, Middle(row).Joint.Position.Y - pivot.Joint.Position.Y)];
            JointPlacement[]? upper = rows.Where(row => row.Height > 0).OrderBy(row => row.Height).FirstOrDefault().Row;
            JointPlacement[]? lower = rows.Where(row => row.Height < 0).OrderByDescending(row => row.Height).FirstOrDefault().Row;
            return upper is null || lower is null ? null : (Of(head, ball, upper, lower), Of(head, ball, lower, upper));
        }

        /// <summary>How much nearer than at rest a joint of the margin comes to a point on its way.</summary>
        public (JointPlacement Joint, double Dip) DeepestDip(Vector3d ball) => Margin.Where(Turns)
            .SelectMany(joint => Enumerable.Range(1, LidSteps).Select(step =>
                (joint, Vector3d.Distance(joint.Position, ball) - Vector3d.Distance(Closed(joint, (double)step / LidSteps), ball))))
            .MaxBy(dip => dip.Item2);

        /// <summary>Where closed lids stay farthest apart, beyond what those of the template do.</summary>
        public static (string Joint, double Gap) WidestGap(Lid upper, Lid lower)
        {
            JointPlacement[] below = [.. lower.Margin.Where(lower.Turns)];
            return upper.Margin.Where(upper.Turns)
                .Select(joint => (Joint: joint, Partner: NearestTo(upper.ClosedInTemplate(joint), below, lower.ClosedInTemplate)))
                .Select(pair => (pair.Joint.Joint.Name, Gap: Vector3d.Distance(upper.Closed(pair.Joint, 1), lower.Closed(pair.Partner, 1))
                    - (Vector3d.Distance(upper.ClosedInTemplate(pair.Joint), lower.ClosedInTemplate(pair.Partner)) * pair.Joint.LocalSize)))
                .MaxBy(pair => pair.Gap);
        }

        private static Lid Of(CheckedHead head, Ride ball, JointPlacement[] margin, JointPlacement[] other)
        {
            (JointPlacement middle, JointPlacement opposite) = (Middle(margin), Middle(other));
            JointPlacement pivot = Pivot(head, ball, middle)!;

            // A row inside the head from corner to corner says where lids meet, else they do half-way.
            JointPlacement[]? line = head.Placement.Rows.Select(head.JointsOf).FirstOrDefault(row => row.Length >= FewestOfRow
                && Middle(row).Joint is { Ride: Ride.Inner, Region: "eyelid" } joint && Math.Sign(joint.Position.X) == Math.Sign(pivot.Joint.Position.X));
            return new Lid(
                head,
                ball,
                margin,
                Turn.Between(middle.Position, line is null ? (middle.Position + opposite.Position) / 2 : Middle(line).Position, pivot.Position).Radians,
                Turn.Between(middle.Joint.Position, line is null ? (middle.Joint.Position + opposite.Joint.Position) / 2 : Middle(line).Joint.Position, pivot.Joint.Position).Radians);
        }

        // What a joint of a lid turns about; the canthi stay.
        private static JointPlacement? Pivot(CheckedHead head, Ride ball, JointPlacement joint) =>
            joint.Joint.Parent is { } parent && head.Joint(parent) is { } pivot && pivot.Joint.Ride == ball ? pivot : null;

        private bool Turns(JointPlacement joint) => Pivot(Head, Ball, joint) is not null;

        private Vector3d Closed(JointPlacement joint, double share) => new Turn(Pivot(Head, Ball, joint)!.Position, Closing * share).Apply(joint.Position);

        private Vector3d ClosedInTemplate(JointPlacement joint) => new Turn(Pivot(Head, Ball, joint)!.Joint.Position, OwnClosing).Apply(joint.Joint.Position);
    }
}
