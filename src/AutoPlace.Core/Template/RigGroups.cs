namespace AutoPlace.Template;

/// <summary>Joints of a rig that keep their shape as one rigid thing: what is worn, by name, and what hangs together above the skin.</summary>
internal static class RigGroups
{
    private static readonly HashSet<string> Worn = new(StringComparer.Ordinal)
    {
        "glasses", "eyeglasses", "eyewear", "spectacles", "goggles", "monocle", "visor", "hat", "cap", "helmet", "headwear", "earring", "earrings",
    };

    /// <summary>For each joint the name of its group, or null.</summary>
    /// <param name="joints">The joints, parents before children.</param>
    /// <param name="ridings">How they ride.</param>
    public static IReadOnlyList<string?> Infer(IReadOnlyList<RigJoint> joints, IReadOnlyList<Riding> ridings)
    {
        string?[] groups = new string?[joints.Count];
        var index = new Dictionary<string, int>(StringComparer.Ordinal);
        for (int i = 0; i < groups.Length; i++)
        {
            index.Add(joints[i].Name, i);
            groups[i] = Array.Find(RigNames.LowerWords(joints[i].Name), Worn.Contains);
            if (groups[i] is null && Attaches(i) && joints[i].Parent is { } parent && Attaches(index[parent]))
            {
                groups[i] = groups[index[parent]] ??= parent;
            }
        }

        // One joint alone has no shape to keep.
        var shared = groups.OfType<string>().GroupBy(group => group, StringComparer.Ordinal).Where(group => group.Count() > 1).Select(group => group.Key).ToHashSet(StringComparer.Ordinal);
        return [.. groups.Select(group => group is not null && shared.Contains(group) ? group : null)];

        bool Attaches(int joint) => ridings[joint] is { Kind: JointKind.Attachment, Ride: Ride.Skin };
    }
}
