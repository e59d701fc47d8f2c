namespace AutoPlace.Template;

/// <summary>What every rig must obey, whatever file it came from, and the order that programs need: parents first.</summary>
internal static class RigRules
{
    /// <summary>Checks the joints and brings parents before their children; an order that is so already stays.</summary>
    /// <param name="file">Name of the file, for messages.</param>
    /// <param name="joints">The joints in the file's order.</param>
    /// <param name="notes">What else a person should know.</param>
    /// <exception cref="TemplateFormatException">No joint, too many, a name used twice, an unknown parent, parents in a cycle, a position that isn't finite.</exception>
    public static Rig Checked(string file, IReadOnlyList<RigJoint> joints, IReadOnlyList<string> notes)
    {
        if (joints.Count == 0)
        {
            throw new TemplateFormatException(file, "joints", "the rig has no joint");
        }

        LatticeRules.CheckCount(file, joints.Count(joint => joint.IsJoint), isWhole: false);
        var byName = new Dictionary<string, RigJoint>(StringComparer.Ordinal);
        foreach (RigJoint joint in joints)
        {
            if (!byName.TryAdd(joint.Name, joint))
            {
                throw Error(file, joint, "the name is used twice; joints are told apart by their names");
            }

            if (!joint.Position.IsFinite)
            {
                throw Error(file, joint, "its position isn't finite");
            }
        }

        foreach (RigJoint joint in joints)
        {
            if (joint.Parent is not null && !byName.ContainsKey(joint.Parent))
            {
                throw Error(file, joint, $"its parent '{joint.Parent}' isn't in the rig");
            }
        }

        List<RigJoint> ordered = ParentsFirst(file, joints, byName);
        string[] moved = [.. joints.Where(joint => joint.Parent is { } parent && IndexOf(joints, parent) > IndexOf(joints, joint.Name)).Select(joint => joint.Name)];
        return new Rig(file, ordered, moved.Length == 0
            ? notes
            : [.. notes, $"{moved.Length} joints come before their parents in the file ({moved[0]} is the first); parents were put first, else the order stays"]);
    }

    private static List<RigJoint> ParentsFirst(string file, IReadOnlyList<RigJoint> joints, Dictionary<string, RigJoint> byName)
    {
        var ordered = new List<RigJoint>(joints.Count);
        var placed = new HashSet<string>(StringComparer.Ordinal);
        foreach (RigJoint joint in joints)
        {
            // Ancestors that aren't there yet, the nearest first.
            var chain = new Stack<RigJoint>();
            for (RigJoint? next = joint; next is not null && !placed.Contains(next.Name); next = next.Parent is { } parent ? byName[parent] : null)
            {
                if (chain.Count == joints.Count)
                {
                    throw Error(file, joint, "its parents form a cycle");
                }

                chain.Push(next);
            }

            foreach (RigJoint next in chain)
            {
                placed.Add(next.Name);
                ordered.Add(next);
            }
        }

        return ordered;
    }

    private static int IndexOf(IReadOnlyList<RigJoint> joints, string name)
    {
        for (int i = 0; i < joints.Count; i++)
        {
            if (joints[i].Name == name)
            {
                return i;
            }
        }

        return -1;
    }

    private static TemplateFormatException Error(string file, RigJoint joint, string reason) => new(file, $"joint '{joint.Name}'", reason);
}
