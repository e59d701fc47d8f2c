using AutoPlace.Geometry;
using AutoPlace.Template;

namespace AutoPlace.Registration;

/// <summary>Turns placed joints by their policies.</summary>
internal static class JointRotations
{
    /// <summary>Sets the rotation of every joint; parents are turned before their children.</summary>
    /// <param name="lattice">The joints.</param>
    /// <param name="turn">How the head turns from the template's at a joint that turns with the skin.</param>
    /// <param name="placed">The joints by name; their rotations are replaced.</param>
    public static void Apply(JointLattice lattice, Func<ControlJoint, Matrix3d> turn, Dictionary<string, JointPlacement> placed)
    {
        foreach (ControlJoint joint in lattice.Joints)
        {
            JointPlacement placement = placed[joint.Name];
            placed[joint.Name] = placement with { Rotation = Rotation(joint, turn, lattice, placed) };
        }
    }

    private static Rotation3d Rotation(
        ControlJoint joint, Func<ControlJoint, Matrix3d> turn, JointLattice lattice, Dictionary<string, JointPlacement> placed)
    {
        switch (joint.RotationPolicy)
        {
            case RotationPolicy.TurnWithSkin:
                return Rotation3d.FromMatrix(turn(joint) * joint.Rotation.ToMatrix());
            case RotationPolicy.KeepLocal when joint.Parent is { } name:
                ControlJoint parent = lattice.Joints.First(j => j.Name == name);
                Rotation3d local = parent.Rotation.Inverse() * joint.Rotation;
                return placed[name].Rotation * local;
            default:
                return joint.Rotation;
        }
    }
}
