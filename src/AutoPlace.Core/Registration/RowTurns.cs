using AutoPlace.Geometry;
using AutoPlace.Template;

namespace AutoPlace.Registration;

/// <summary>
/// By how much rows and columns turn from span to span. The midline, commissures and canthi end a half row; so does any
/// joint at which the template itself turns by a right angle.
/// </summary>
internal static class RowTurns
{
    /// <summary>Turn within a half row from which on a row doubles back, degrees (common practice of rigging, no published source).</summary>
    internal const double Most = 90;

    /// <summary>Turn that is aimed at, degrees (common practice of rigging, no published source).</summary>
    internal const double Target = 45;

    /// <summary>A turn is taken back to this at most, degrees: room for what is done to the joints afterwards.</summary>
    private const double Kept = 80;

    private const int Rounds = 12;

    /// <summary>Shares of the way to the straight line between its neighbours that a joint may go at once.</summary>
    private static readonly double[] Steps = [0.15, 0.3, 0.6];

    /// <summary>How far from a joint skin is looked for that it may have sunk under, interocular distances.</summary>
    private const double Reach = 0.1;

    private static readonly string[] HalfRowEnds = ["canth", "commissure", "cheilion"];

    /// <summary>
    /// The turn at a joint in degrees, or null where it doesn't count. One beyond the target counts only where the template keeps
    /// to the target itself; of a closed row, what it turns by beyond the share of a full turn that each of its joints has to have.
    /// </summary>
    /// <param name="before">The joint before it.</param>
    /// <param name="at">The joint.</param>
    /// <param name="after">The joint behind it.</param>
    /// <param name="least">The joint's share of a full turn, degrees; 0 in an open row.</param>
    internal static double? At(JointPlacement before, JointPlacement at, JointPlacement after, double least)
    {
        double own = Own(before, at, after) - least;
        double turn = Degrees(before.Position, at.Position, after.Position) - least;
        bool crossesMidline = at.Joint.Side == Side.Middle && before.Joint.Side != Side.Middle;
        bool endsHalfRow = own >= Most || crossesMidline
            || HalfRowEnds.Any(part => at.Joint.Name.Contains(part, StringComparison.OrdinalIgnoreCase));
        return endsHalfRow || (turn < Most && own > Target) ? null : turn;
    }

    /// <summary>The turns along a row or column that count.</summary>
    /// <param name="joints">Its joints, in order; a closed one doesn't repeat its first joint.</param>
    /// <param name="closed">Whether the last joint is followed by the first.</param>
    internal static IEnumerable<RowTurn> Along(IReadOnlyList<JointPlacement> joints, bool closed)
    {
        int n = joints.Count;
        for (int i = closed ? 0 : 1; i < n - (closed ? 0 : 1); i++)
        {
            (JointPlacement before, JointPlacement at, JointPlacement after) = (joints[(i + n - 1) % n], joints[i], joints[(i + 1) % n]);
            if (At(before, at, after, closed ? 360.0 / n : 0) is { } degrees)
            {
                yield return new RowTurn(before, at, after, degrees, Own(before, at, after) - (closed ? 360.0 / n : 0));
            }
        }
    }

    /// <summary>
    /// Draws joints of the skin at which a row doubles back towards their neighbours, along the skin, until it no longer does:
    /// where the skin is coarse or hides behind something, several joints come to lie on the same corner.
    /// </summary>
    /// <param name="lattice">The joints, rows and columns.</param>
    /// <param name="placed">The joints by name; those that are drawn are replaced.</param>
    /// <param name="held">Joints that stay.</param>
    /// <param name="skin">The head's skin.</param>
    /// <param name="normal">For a joint how the skin is expected to face under it.</param>
    internal static void Limit(
        JointLattice lattice, Dictionary<string, JointPlacement> placed, IReadOnlySet<string> held, SkinSurface skin, Func<string, Vector3d> normal)
    {
        JointSequence[] sequences = [.. lattice.Rows, .. lattice.Columns];
        for (int round = 0; round < Rounds; round++)
        {
            string[] sharp = [.. sequences.SelectMany(row => Turns(row, placed)).Where(turn => turn.Degrees > Kept).Select(turn => turn.At.Joint)
                .Where(joint => joint is { Ride: Ride.Skin, SkinPoint: not null } && !held.Contains(joint.Name)).Select(joint => joint.Name).Distinct()];
            if (sharp.Length == 0)
            {
                return;
            }

            foreach (string name in sharp)
            {
                JointSequence[] through = [.. sequences.Where(row => row.Joints.Contains(name))];
                if (Straight(through, name, placed) is not { } straight)
                {
                    continue; // a neighbour was drawn before it
                }

                (JointPlacement best, double least) = (placed[name], Sharpest());
                JointPlacement was = best;
                foreach (double step in Steps)
                {
                    JointPlacement drawn = On(Vector3d.Lerp(was.Position, straight, step));
                    if (was.Joint.Side == Side.Middle)
                    {
                        // From inside a ridge the skin is nearest to either side.
                        drawn = On(drawn.Position with { X = was.Position.X });
                    }

                    placed[name] = drawn;
                    (best, least) = Sharpest() is var turn && turn < least && !Sinks(drawn, skin) ? (drawn, turn) : (best, least);
                }

                placed[name] = best;

                JointPlacement On(Vector3d point) => SurfaceJoints.Moved(was, new SkinTarget(point, normal(name)), skin);
                double Sharpest() => through.SelectMany(row => Turns(row, placed)).Select(turn => turn.Degrees).DefaultIfEmpty().Max();
            }
        }
    }

    // In a fold the opposite wall may be nearer.
    private static bool Sinks(JointPlacement joint, SkinSurface skin) =>
        !joint.Joint.InFold && skin.Nearest(joint.Position, Reach) is { } near && skin.Clearance(joint.Position, near) < Math.Min(0, joint.Lift);

    // Between its neighbours in the template's proportions, in the row in which it turns most; null where it doesn't turn.
    private static Vector3d? Straight(JointSequence[] through, string joint, Dictionary<string, JointPlacement> placed)
    {
        if (through.SelectMany(row => Turns(row, placed)).Where(turn => turn.At.Joint.Name == joint).MaxBy(turn => turn.Degrees)
            is not (JointPlacement before, JointPlacement at, JointPlacement after, _, _))
        {
            return null;
        }

        Vector3d own = at.Joint.Position;
        double first = Vector3d.Distance(before.Joint.Position, own), second = Vector3d.Distance(own, after.Joint.Position);
        return Vector3d.Lerp(before.Position, after.Position, first + second > 0 ? first / (first + second) : 0.5);
    }

    private static IEnumerable<RowTurn> Turns(JointSequence row, Dictionary<string, JointPlacement> placed) =>
        Along([.. row.Joints.Select(name => placed[name])], row.Closed);

    private static double Own(JointPlacement before, JointPlacement at, JointPlacement after) =>
        Degrees(before.Joint.Position, at.Joint.Position, after.Joint.Position);

    private static double Degrees(Vector3d before, Vector3d at, Vector3d after)
    {
        (Vector3d a, Vector3d b) = (at - before, after - at);
        return Math.Atan2(Vector3d.Cross(a, b).Length, Vector3d.Dot(a, b)) * (180 / Math.PI);
    }
}

/// <summary>A turn of a row or column.</summary>
/// <param name="Before">The joint before.</param>
/// <param name="At">The joint at which it turns.</param>
/// <param name="After">The joint behind.</param>
/// <param name="Degrees">By how much.</param>
/// <param name="OwnDegrees">By how much the template turns there.</param>
internal sealed record RowTurn(JointPlacement Before, JointPlacement At, JointPlacement After, double Degrees, double OwnDegrees);
