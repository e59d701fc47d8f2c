using System.Globalization;
using AutoPlace.Geometry;

namespace AutoPlace.Template;

/// <summary>
/// Brings a rig into the coordinates of the head's file where it is in another unit or has other axes: the one change of both
/// that lays its joints on the head's skin. Both are taken about the file's origin, as exporters do it.
/// </summary>
internal static class RigAlignment
{
    /// <summary>A joint farther from the skin than this is no farther off than another, interocular distances.</summary>
    private const double MostOff = 0.5;

    /// <summary>Mean distance from the skin, interocular distances, up to which a rig needs no other change, and from which on no change has laid it on the head (own choices).</summary>
    private const double WellOn = 0.1, LeastOn = 0.3;

    /// <summary>Another change has to come nearer by this factor than none, and than the second best.</summary>
    private const double Clearly = 0.6;

    /// <summary>
    /// A change that leaves the joints within less than this of their middle, root mean square, interocular distances, lays them on a
    /// spot of the skin, wherever that is: those of a face are spread by about one, those of one eye by a quarter.
    /// </summary>
    private const double LeastSpread = 0.2;

    /// <summary>Units that files are in, over one another: metres, decimetres, centimetres, millimetres, inches.</summary>
    private static readonly double[] Scales = [1, 100, 0.01, 10, 0.1, 1000, 0.001, 39.37007874015748, 0.0254, 2.54, 1 / 2.54];

    /// <summary>Aligns a rig.</summary>
    /// <param name="rig">The rig.</param>
    /// <param name="lift">Signed distance of a point of the head's file from its skin, interocular distances.</param>
    /// <param name="interocularDistance">Interocular distance of the head in its file.</param>
    public static Rig Align(Rig rig, Func<Vector3d, double> lift, double interocularDistance)
    {
        double asIs = Off(1, Matrix3d.Identity);
        if (asIs <= WellOn)
        {
            return rig;
        }

        List<(double Off, double Scale, Matrix3d Turn)> changes = [];
        double spread = Spread(rig) / interocularDistance;
        foreach (double scale in Scales.Where(scale => scale == 1 || spread * scale >= LeastSpread))
        {
            changes.AddRange(AxisTurns().Select(turn => (Off(scale, turn), scale, turn)));
        }

        changes.Sort((a, b) => a.Off.CompareTo(b.Off));
        (double best, double by, Matrix3d axes) = changes[0];
        return best > LeastOn || best > Clearly * asIs || best > Clearly * changes[1].Off ? rig : Changed(rig, by, axes);

        double Off(double scale, Matrix3d turn) =>
            rig.Joints.Average(joint => Math.Min(MostOff, Math.Abs(lift(turn * joint.Position * scale))));
    }

    private static double Spread(Rig rig)
    {
        Vector3d middle = rig.Joints.Aggregate(Vector3d.Zero, (sum, joint) => sum + joint.Position) / rig.Joints.Count;
        return Math.Sqrt(rig.Joints.Average(joint => (joint.Position - middle).LengthSquared));
    }

    private static Rig Changed(Rig rig, double scale, Matrix3d turn)
    {
        var rotation = Rotation3d.FromMatrix(turn);
        string axes = turn == Matrix3d.Identity ? string.Empty : $", its axes x, y, z are the head's {AxisName(turn, 0)}, {AxisName(turn, 1)}, {AxisName(turn, 2)}";
        string note = string.Create(
            CultureInfo.InvariantCulture, $"the rig is in other coordinates than the head: its lengths were multiplied by {scale:0.#####}{axes}");
        return rig with
        {
            Joints = [.. rig.Joints.Select(joint => joint with { Position = turn * joint.Position * scale, Rotation = rotation * joint.Rotation })],
            Notes = [.. rig.Notes, note],
        };
    }

    private static string AxisName(Matrix3d turn, int axis)
    {
        Vector3d to = turn * (axis == 0 ? Vector3d.UnitX : axis == 1 ? Vector3d.UnitY : Vector3d.UnitZ);
        return to.X > 0.5 ? "x" : to.X < -0.5 ? "-x" : to.Y > 0.5 ? "y" : to.Y < -0.5 ? "-y" : to.Z > 0.5 ? "z" : "-z";
    }

    // The 24 turns that take axes to axes.
    private static IEnumerable<Matrix3d> AxisTurns()
    {
        Vector3d[] axes = [Vector3d.UnitX, -Vector3d.UnitX, Vector3d.UnitY, -Vector3d.UnitY, Vector3d.UnitZ, -Vector3d.UnitZ];
        return from x in axes from y in axes where Vector3d.Dot(x, y) == 0 select Matrix3d.FromColumns(x, y, Vector3d.Cross(x, y));
    }
}
