using AutoPlace.Geometry;
using AutoPlace.Template;

namespace AutoPlace.Registration;

/// <summary>
/// Turns placed joints by their policies. Every policy says by how much the joint turns in the world from how the template
/// has it, so that a rig's own orientations stay what they are, and mirrored turns keep mirrored frames mirrored whatever
/// the convention of the rig.
/// </summary>
internal sealed class JointRotations
{
    /// <summary>A direction this near to straight up takes its second axis from the front.</summary>
    private const double Upright = 0.95;

    private readonly Func<ControlJoint, Matrix3d> _turn;
    private readonly Dictionary<string, JointPlacement> _placed;
    private readonly IReadOnlyDictionary<string, Matrix3d> _groups;
    private readonly IReadOnlyDictionary<string, string> _twins;
    private readonly IReadOnlySet<string> _mirrored;
    private readonly Dictionary<string, Matrix3d> _turns = new(StringComparer.Ordinal);

    private JointRotations(
        Func<ControlJoint, Matrix3d> turn, Dictionary<string, JointPlacement> placed,
        IReadOnlyDictionary<string, Matrix3d> groups, IReadOnlyDictionary<string, string> twins, IReadOnlySet<string> mirrored)
    {
        (_turn, _placed, _groups, _twins, _mirrored) = (turn, placed, groups, twins, mirrored);
    }

    /// <summary>Sets the rotation of every joint; parents are turned before their children.</summary>
    /// <param name="lattice">The joints.</param>
    /// <param name="turn">How the head turns from the template's at a joint that turns with the skin.</param>
    /// <param name="placed">The joints by name, where they end; their rotations are replaced.</param>
    /// <param name="groups">How rigid groups turn, by name.</param>
    /// <param name="mirrored">Joints whose twins are their mirror image, and those on the midline among them.</param>
    public static void Apply(
        JointLattice lattice, Func<ControlJoint, Matrix3d> turn, Dictionary<string, JointPlacement> placed,
        IReadOnlyDictionary<string, Matrix3d> groups, IReadOnlySet<string> mirrored)
    {
        var rotations = new JointRotations(turn, placed, groups, LatticeTwins.Of(lattice), mirrored);
        foreach (ControlJoint joint in lattice.Joints)
        {
            Matrix3d turned = rotations.TurnOf(joint);
            turned = mirrored.Contains(joint.Name) && joint is { Side: Side.Middle, RigidGroup: null } ? AboutTransverse(turned) : turned;
            rotations._turns.Add(joint.Name, turned);
            placed[joint.Name] = placed[joint.Name] with
            {
                Rotation = turned == Matrix3d.Identity ? joint.Rotation : Rotation3d.FromMatrix(turned * joint.Rotation.ToMatrix()),
            };
        }
    }

    private Matrix3d TurnOf(ControlJoint joint)
    {
        if (joint.RigidGroup is { } group && _groups.TryGetValue(group, out Matrix3d whole))
        {
            return whole;
        }

        if (_mirrored.Contains(joint.Name) && _twins.TryGetValue(joint.Name, out string? twin) && _mirrored.Contains(twin) && _turns.TryGetValue(twin, out Matrix3d other))
        {
            var mirror = Matrix3d.Diagonal(-1, 1, 1);
            return mirror * other * mirror;
        }

        return joint.RotationPolicy switch
        {
            RotationPolicy.TurnWithSkin => _turn(joint),
            RotationPolicy.KeepLocal when joint.Parent is { } parent => _turns[parent],
            RotationPolicy.Aim when joint.AimTarget is { } target && _placed.TryGetValue(target, out JointPlacement? aim) =>
                Aim(aim.Joint.Position - joint.Position, aim.Position - _placed[joint.Name].Position),
            _ => Matrix3d.Identity,
        };
    }

    // From one direction to another, up staying as near to up as it can.
    private static Matrix3d Aim(Vector3d before, Vector3d after)
    {
        if (before.Length == 0 || after.Length == 0)
        {
            return Matrix3d.Identity;
        }

        Vector3d up = Math.Abs(before.Normalized().Y) < Upright && Math.Abs(after.Normalized().Y) < Upright ? Vector3d.UnitY : Vector3d.UnitZ;
        return before == after ? Matrix3d.Identity : Frame(after) * Frame(before).Transposed();

        Matrix3d Frame(Vector3d along)
        {
            Vector3d first = along.Normalized(), third = Vector3d.Cross(first, up).Normalized();
            return Matrix3d.FromColumns(first, Vector3d.Cross(third, first), third);
        }
    }

    // The nearest turn that is its own mirror image: about the axis across the midsagittal plane.
    private static Matrix3d AboutTransverse(Matrix3d turn)
    {
        double angle = Math.Atan2(turn.Row2.Y - turn.Row1.Z, turn.Row1.Y + turn.Row2.Z);
        (double sine, double cosine) = Math.SinCos(angle);
        return angle == 0 ? Matrix3d.Identity : new(Vector3d.UnitX, new(0, cosine, -sine), new(0, sine, cosine));
    }
}
