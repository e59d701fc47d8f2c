using AutoPlace.Geometry;

namespace AutoPlace.Template;

/// <summary>Sides of a rig's joints and which of them are each other's mirror image, by where they are.</summary>
/// <param name="Sides">For each joint its side.</param>
/// <param name="Twins">For each joint the index of its mirror image; its own on the midline; -1 without one.</param>
internal sealed record RigSides(IReadOnlyList<Side> Sides, IReadOnlyList<int> Twins)
{
    /// <summary>A joint this near to the plane is on the midline, half as far as it may be from its twin's mirror image, interocular distances (own choice: half of what a template may move a joint on its own head).</summary>
    public const double Tolerance = 0.0005;

    /// <summary>Infers both.</summary>
    /// <param name="names">Names of the joints, which tell twins apart where several lie in one place.</param>
    /// <param name="positions">Their positions; the mirror plane is x = 0, the subject's left is +x.</param>
    public static RigSides Infer(IReadOnlyList<string> names, IReadOnlyList<Vector3d> positions)
    {
        Side[] sides = [.. positions.Select(p => Math.Abs(p.X) <= Tolerance ? Side.Middle : p.X > 0 ? Side.Left : Side.Right)];
        int[] twins = new int[names.Count];
        for (int i = 0; i < twins.Length; i++)
        {
            twins[i] = sides[i] == Side.Middle ? i : -1;
        }

        for (int i = 0; i < twins.Length; i++)
        {
            if (sides[i] == Side.Left && Partners(i, positions, sides, twins) is { Count: > 0 } partners)
            {
                // By name where the names tell, else the first that is free, so that joints in one place pair off in order.
                IReadOnlyList<string> mirrored = RigNames.Mirrored(names[i]);
                int byName = partners.FindIndex(p => mirrored.Contains(names[p], StringComparer.Ordinal));
                int twin = partners[Math.Max(byName, 0)];
                (twins[i], twins[twin]) = (twin, i);
            }
        }

        return new RigSides(sides, twins);
    }

    /// <summary>How many joints have their mirror image in the rig, and how far off these are in the sum; those on the midline count as their own.</summary>
    /// <param name="positions">Positions; the mirror plane is x = 0.</param>
    public static (int Count, double Off) Mirrored(IReadOnlyList<Vector3d> positions)
    {
        double[] off = [.. positions.Select(p => positions.Min(q => Vector3d.Distance(p, q with { X = -q.X }))).Where(d => d <= 2 * Tolerance)];
        return (off.Length, off.Sum());
    }

    /// <summary>Twins and midline joints that are so up to the rounding of files made exactly so.</summary>
    /// <param name="positions">Their positions; the mirror plane is x = 0.</param>
    /// <param name="rounding">What files round by.</param>
    public Vector3d[] Exact(IReadOnlyList<Vector3d> positions, double rounding)
    {
        Vector3d[] exact = [.. positions];
        for (int i = 0; i < exact.Length; i++)
        {
            int twin = Twins[i];
            Vector3d image = twin < 0 ? positions[i] : positions[twin] with { X = -positions[twin].X };
            bool same = Vector3d.Distance(image, positions[i]) <= 2 * rounding;
            exact[i] = !same || Sides[i] == Side.Left ? positions[i] : Sides[i] == Side.Middle ? positions[i] with { X = 0 } : image;
        }

        return exact;
    }

    private static List<int> Partners(int left, IReadOnlyList<Vector3d> positions, Side[] sides, int[] twins) =>
        [.. Enumerable.Range(0, twins.Length).Where(right => sides[right] == Side.Right && twins[right] < 0 && IsMirror(positions[left], positions[right]))];

    private static bool IsMirror(Vector3d p, Vector3d q) => Vector3d.Distance(p, q with { X = -q.X }) <= 2 * Tolerance;
}
