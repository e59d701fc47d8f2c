namespace AutoPlace.Export;

/// <summary>The joints that move a vertex, and their shares; four places or a multiple of four.</summary>
/// <param name="Joints">Joint indices; unused places hold 0.</param>
/// <param name="Shares">Shares in [0, 1], summing to 1; 0 in unused places.</param>
internal sealed record VertexInfluences(int[] Joints, float[] Shares)
{
    /// <summary>Places for influences, as in one JOINTS_0/WEIGHTS_0 pair of glTF.</summary>
    internal const int Places = 4;

    /// <summary>One joint that carries the vertex alone.</summary>
    internal static VertexInfluences Rigid(int joint) => new([joint, 0, 0, 0], [1, 0, 0, 0]);

    /// <summary>
    /// The four greatest weights; a fifth is taken off all of them, so that nothing jumps where the choice changes.
    /// Shares are normalised in single precision to sum to 1.
    /// </summary>
    /// <param name="weights">Joints and weights, at least one positive; reordered.</param>
    internal static VertexInfluences Strongest(List<(int Joint, double Weight)> weights)
    {
        weights.Sort(static (a, b) => b.Weight != a.Weight ? b.Weight.CompareTo(a.Weight) : a.Joint.CompareTo(b.Joint));
        if (weights.Count <= Places)
        {
            return Normalised(weights, Places);
        }

        double floor = weights[Places].Weight;
        List<(int Joint, double Weight)> above =
            [.. weights.Take(Places).Select(w => (w.Joint, w.Weight - floor)).Where(w => w.Item2 > 0)];

        // Five equal weights: nothing is left above the floor.
        return above.Count > 0 ? Normalised(above, Places) : Rigid(weights[0].Joint);
    }

    /// <summary>
    /// What is left of a vertex's influences when one joint's weight is shared out among a lattice: the others keep
    /// theirs, the lattice's strongest joints take the places that are left. There are as many places as before, in
    /// whole sets of four.
    /// </summary>
    /// <param name="old">Influences so far, each positive.</param>
    /// <param name="carrier">The joint whose weight is shared out.</param>
    /// <param name="onLattice">The vertex's influences within the lattice, or null to leave it alone.</param>
    /// <param name="firstLatticeJoint">Index of the lattice's first joint among all joints.</param>
    internal static VertexInfluences Share(
        List<(int Joint, double Weight)> old, int carrier, VertexInfluences? onLattice, int firstLatticeJoint)
    {
        int places = Places * Math.Max(1, (old.Count + Places - 1) / Places);
        List<(int Joint, double Weight)> shared = [.. old.Where(o => o.Joint != carrier || onLattice is null)];
        double carried = onLattice is null ? 0 : old.Where(o => o.Joint == carrier).Sum(o => o.Weight);
        if (onLattice is not null && carried > 0)
        {
            int free = Math.Min(places - shared.Count, Places);
            (int Joint, float Share)[] strongest =
                [.. onLattice.Joints.Zip(onLattice.Shares).Where(s => s.Second > 0).OrderByDescending(s => s.Second).Take(free)];
            double sum = strongest.Sum(s => s.Share);
            shared.AddRange(strongest.Select(s => (firstLatticeJoint + s.Joint, carried * s.Share / sum)));
        }

        return Normalised(shared, places);
    }

    private static VertexInfluences Normalised(List<(int Joint, double Weight)> weights, int places)
    {
        int[] joints = new int[places];
        float[] shares = new float[places];
        if (weights.Count == 0)
        {
            shares[0] = 1;
            return new VertexInfluences(joints, shares);
        }

        weights.Sort(static (a, b) => b.Weight != a.Weight ? b.Weight.CompareTo(a.Weight) : a.Joint.CompareTo(b.Joint));
        double sum = weights.Sum(w => w.Weight);
        float rest = 1;
        for (int i = Math.Min(places, weights.Count) - 1; i > 0; i--)
        {
            shares[i] = (float)(weights[i].Weight / sum);
            joints[i] = shares[i] > 0 ? weights[i].Joint : 0;
            rest -= shares[i];
        }

        (joints[0], shares[0]) = (weights[0].Joint, rest);
        return new VertexInfluences(joints, shares);
    }
}
