using AutoPlace.Geometry;
using AutoPlace.Template;

namespace AutoPlace.Registration;

/// <summary>Turns placed joints by their policies.</summary>
internal static class JointRotations
{
    /// <summary>Sets the rotation of every joint; parents are turned before their children.</summary>
    public static void Apply(JointLattice lattice, HeadWarp warp, Dictionary<string, JointPlacement> placed)
    {
        foreach (ControlJoint joint in lattice.Joints)
        {
            JointPlacement placement = placed[joint.Name];
            placed[joint.Name] = placement with { Rotation = Rotation(joint, warp, lattice, placed) };
        }
    }

    private static Rotation3d Rotation(
        ControlJoint joint, HeadWarp warp, JointLattice lattice, Dictionary<string, JointPlacement> placed)
    {
        switch (joint.RotationPolicy)
        {
            case RotationPolicy.TurnWithSkin:
                Matrix3d turn = warp.LocalSimilarity(joint.SkinPoint ?? joint.Position).Rotation;
                return Rotation3d.FromMatrix(turn * joint.Rotation.ToMatrix());
            case RotationPolicy.KeepLocal when joint.Parent is { } name:
                ControlJoint parent = lattice.Joints.First(j => j.Name == name);
                Rotation3d local = parent.Rotation.Inverse() * joint.Rotation;
                return placed[name].Rotation * local;
            default:
                return joint.Rotation;
        }
    }
}
