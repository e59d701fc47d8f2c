using AutoPlace.Landmarks;

namespace AutoPlace.Template;

/// <summary>Which joints of a lattice are each other's mirror image.</summary>
public static class LatticeTwins
{
    /// <summary>For the name of each joint that has a twin, the twin's: as the lattice says, else by <c>_left</c> and <c>_right</c>.</summary>
    public static IReadOnlyDictionary<string, string> Of(JointLattice lattice)
    {
        ArgumentNullException.ThrowIfNull(lattice);
        var joints = lattice.Joints.ToDictionary(joint => joint.Name, StringComparer.Ordinal);
        var twins = new Dictionary<string, string>(StringComparer.Ordinal);
        foreach (ControlJoint joint in lattice.Joints)
        {
            string byName = LandmarkNames.Mirror(joint.Name);
            bool isPair = joint.Side is Side.Left or Side.Right && byName != joint.Name
                && joints.TryGetValue(byName, out ControlJoint? other) && other.Twin is null && other.Side != joint.Side;
            if (joint.Twin is not null || isPair)
            {
                twins.Add(joint.Name, joint.Twin ?? byName);
            }
        }

        return twins;
    }
}
