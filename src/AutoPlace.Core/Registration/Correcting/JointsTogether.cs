using AutoPlace.Geometry;

namespace AutoPlace.Registration.Correcting;

/// <summary>
/// Joints that a rig has in one place, and those of a region that are rigid with each other: when a person moves one of
/// them, the others go along.
/// </summary>
internal sealed class JointsTogether
{
    private readonly int[][] _coincident;
    private readonly int[][] _rigid;

    /// <summary>Reads off a template's own positions which joints these are.</summary>
    public JointsTogether(IReadOnlyList<JointPlacement> joints)
    {
        // The lids' closing line lies on the ball, but a person moves each of its joints by itself.
        _rigid = [.. Enumerable.Range(0, joints.Count)
            .Where(i => LatticeInvariants.GroupOf(joints[i].Joint) is not null && joints[i].Joint.Region != "eyelid")
            .GroupBy(i => (LatticeInvariants.GroupOf(joints[i].Joint), joints[i].Joint.Region))
            .Select(group => group.ToArray()).Where(group => group.Length > 1)];
        int[] first = new int[joints.Count];
        for (int i = 0; i < first.Length; i++)
        {
            first[i] = Enumerable.Range(0, i + 1).First(k => k == i
                || (first[k] == k && Vector3d.Distance(joints[k].Joint.Position, joints[i].Joint.Position) <= LatticeInvariants.Coincident));
        }

        _coincident = [.. Enumerable.Range(0, first.Length).GroupBy(i => first[i]).Select(group => group.ToArray()).Where(group => group.Length > 1)];
    }

    /// <summary>Makes displacements the same where joints stay together.</summary>
    /// <param name="moves">Displacement of each joint; those of joints that aren't locked may be changed.</param>
    /// <param name="isLocked">True for joints whose positions are locked.</param>
    public void Apply(Vector3d[] moves, Func<int, bool> isLocked)
    {
        // Two locked ones of a rigid group may turn or stretch it: what lies between follows as the region does.
        foreach (int[] group in _rigid.Where(group => group.Count(isLocked) == 1))
        {
            Follow(group, group.Single(isLocked));
        }

        // Without a locked one the least displacement counts: none, where one of them is in a region that nobody touched.
        foreach (int[] group in _coincident)
        {
            Follow(group, group.Any(isLocked) ? group.First(isLocked) : group.MinBy(i => moves[i].LengthSquared));
        }

        void Follow(int[] group, int leader)
        {
            foreach (int i in group)
            {
                moves[i] = isLocked(i) ? moves[i] : moves[leader];
            }
        }
    }
}
