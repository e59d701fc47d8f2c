namespace AutoPlace.Template;

/// <summary>Cuts a lattice down to a level of its template.</summary>
public static class LatticeReduction
{
    /// <summary>
    /// The lattice restricted to some of its joints. A joint whose parent is left out hangs on its nearest ancestor
    /// that stays; rows and columns keep the joints that stay, and disappear with fewer than two; names, positions,
    /// rotations and order don't change. An aim target that is left out turns into keeping the world rotation.
    /// </summary>
    /// <param name="lattice">The whole lattice.</param>
    /// <param name="names">Names of the joints that stay; names the lattice doesn't have are ignored.</param>
    public static JointLattice Restrict(JointLattice lattice, IReadOnlyCollection<string> names)
    {
        ArgumentNullException.ThrowIfNull(lattice);
        ArgumentNullException.ThrowIfNull(names);
        var kept = new HashSet<string>(names, StringComparer.Ordinal);
        var parents = lattice.Joints.ToDictionary(joint => joint.Name, joint => joint.Parent, StringComparer.Ordinal);
        return new JointLattice(
            [.. lattice.Joints.Where(joint => kept.Contains(joint.Name)).Select(Rehang)],
            Restrict(lattice.Rows, kept),
            Restrict(lattice.Columns, kept));

        ControlJoint Rehang(ControlJoint joint)
        {
            string? parent = joint.Parent;
            while (parent is not null && !kept.Contains(parent))
            {
                parent = parents[parent];
            }

            ControlJoint hung = joint with { Parent = parent, Twin = joint.Twin is { } twin && kept.Contains(twin) ? twin : null };
            return hung.AimTarget is null || kept.Contains(hung.AimTarget)
                ? hung
                : hung with { AimTarget = null, RotationPolicy = RotationPolicy.KeepWorld };
        }
    }

    /// <summary>The reduced level of a template; the whole lattice where the template has only one level.</summary>
    public static JointLattice Reduced(TemplateHead template)
    {
        ArgumentNullException.ThrowIfNull(template);
        return template.ReducedJoints.Count == 0 ? template.Lattice : Restrict(template.Lattice, template.ReducedJoints);
    }

    private static List<JointSequence> Restrict(IReadOnlyList<JointSequence> sequences, HashSet<string> kept)
    {
        var result = new List<JointSequence>();
        foreach (JointSequence sequence in sequences)
        {
            string[] joints = [.. sequence.Joints.Where(kept.Contains)];
            if (joints.Length >= 2)
            {
                result.Add(sequence with { Joints = joints, Closed = sequence.Closed && joints.Length > 2 });
            }
        }

        return result;
    }
}
