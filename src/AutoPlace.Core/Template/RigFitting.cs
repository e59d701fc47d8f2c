using AutoPlace.Geometry;

namespace AutoPlace.Template;

/// <summary>Makes the lattice of a template from a rig and the head that it was fitted to: all that isn't in the rig is inferred.</summary>
internal static class RigFitting
{
    /// <summary>What files round positions by, interocular distances: single precision.</summary>
    private const double Rounding = 1e-5;

    /// <summary>Infers how each joint rides and turns, its kind, region, side, twin and group, and the rows.</summary>
    /// <param name="joints">The joints, parents first; head frame, interocular distances.</param>
    /// <param name="inFile">Their rotations in the file's axes.</param>
    /// <param name="plane">The rig's own mirror plane.</param>
    /// <param name="head">The head.</param>
    /// <returns>The lattice, turned so that the rig's plane is x = 0.</returns>
    public static JointLattice Fit(IReadOnlyList<RigJoint> joints, IReadOnlyList<Rotation3d> inFile, RigPlane plane, FittedHead head)
    {
        string[] names = [.. joints.Select(joint => joint.Name)];
        Vector3d[] positions = [.. joints.Select(joint => joint.Position)];
        Vector3d[] along = [.. positions.Select(plane.Along)];
        RigSides sides = RigSides.Infer(names, along);
        Vector3d[] exact = sides.Exact(along, Rounding);
        var regions = new RigRegions(head.Atlas);
        List<Riding> ridings = Ridings(joints, new RidingInference(head, regions));
        IReadOnlyList<string?> groups = RigGroups.Infer(joints, ridings);
        var byName = joints.ToDictionary(joint => joint.Name, StringComparer.Ordinal);
        ILookup<string?, RigJoint> children = joints.ToLookup(joint => joint.Parent);
        RigJoint[] markers = [.. joints.Where(joint => !joint.IsJoint)];
        var fitted = new ControlJoint[joints.Count];
        for (int i = 0; i < fitted.Length; i++)
        {
            RigJoint joint = joints[i];
            Riding riding = ridings[i];
            Turning turning = RotationInference.Of(
                joint, riding.Ride, joint.Parent is { } parent ? byName[parent] : null, children[joint.Name].Concat(markers), inFile[i]);
            Vector3d atlas = head.ToAtlas(riding.SkinPoint ?? joint.Position);
            fitted[i] = new ControlJoint
            {
                Name = joint.Name,
                Region = regions.Of(joint.Name, atlas, riding.Ride == Ride.Skin),
                Side = sides.Sides[i],
                Kind = groups[i] is not null && riding.Kind == JointKind.Surface ? JointKind.Attachment : riding.Kind,
                Parent = joint.Parent,
                Position = exact[i],
                Rotation = plane.Turn * joint.Rotation,
                Ride = riding.Ride,
                Lift = riding.Lift,
                SkinPoint = riding.SkinPoint is { } point ? plane.Along(point) : null,
                RotationPolicy = turning.Policy,
                AimTarget = turning.AimTarget,
                Twin = sides.Twins[i] is >= 0 and int twin && twin != i ? names[twin] : null,
                RigidGroup = groups[i],
                InFold = riding.Kind == JointKind.Surface && groups[i] is null && regions.IsInFold(atlas),
            };
        }

        return new JointLattice(fitted, RigRows.Infer(names, positions), []);
    }

    private static List<Riding> Ridings(IReadOnlyList<RigJoint> joints, RidingInference inference)
    {
        var ridings = new List<Riding>(joints.Count);
        var index = new Dictionary<string, int>(StringComparer.Ordinal);
        foreach (RigJoint joint in joints)
        {
            index.Add(joint.Name, ridings.Count);
            ridings.Add(inference.Of(joint, joint.Parent is { } parent ? ridings[index[parent]] : null));
        }

        return ridings;
    }
}
