using AutoPlace.Geometry;

namespace AutoPlace.Template;

/// <summary>Sides of a rig's joints and which of them are each other's mirror image, by where they are.</summary>
/// <param name="Sides">For each joint its side.</param>
/// <param name="Twins">For each joint the index of its mirror image; its own on the midline; -1 without one.</param>
internal sealed record RigSides(IReadOnlyList<Side> Sides, IReadOnlyList<int> Twins)
{
    /// <summary>
    /// A joint this near to the plane is of the midline, and is put onto it: 0.06 mm on an adult, interocular distances (own choice: nine
    /// tenths of what a template may move a joint on its own head, the rest is for rounding; less than <see cref="OffMirror"/>).
    /// </summary>
    private const double OnMidline = 0.0009;

    /// <summary>So far from its mirror image a joint's twin may be; on a symmetric head each is moved by half, interocular distances (own choice: what a template may move a joint on its own head).</summary>
    private const double OffMirror = 0.001;

    /// <summary>The side of a joint.</summary>
    /// <param name="position">Its position; the mirror plane is x = 0, the subject's left is +x.</param>
    public static Side Of(Vector3d position) => Math.Abs(position.X) <= OnMidline ? Side.Middle : position.X > 0 ? Side.Left : Side.Right;

    /// <summary>Infers both.</summary>
    /// <param name="names">Names of the joints, which tell twins apart where several lie in one place.</param>
    /// <param name="positions">Their positions; the mirror plane is x = 0, the subject's left is +x.</param>
    public static RigSides Infer(IReadOnlyList<string> names, IReadOnlyList<Vector3d> positions)
    {
        Side[] sides = [.. positions.Select(Of)];
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
        double[] off = [.. positions.Select(p => positions.Min(q => Vector3d.Distance(p, q with { X = -q.X }))).Where(d => d <= OffMirror)];
        return (off.Length, off.Sum());
    }

    /// <summary>Midline joints put onto the plane, and twins that are so up to the rounding of files made exactly so.</summary>
    /// <param name="positions">Their positions; the mirror plane is x = 0.</param>
    /// <param name="rounding">What files round by.</param>
    public Vector3d[] Exact(IReadOnlyList<Vector3d> positions, double rounding)
    {
        Vector3d[] exact = [.. positions];
        for (int i = 0; i < exact.Length; i++)
        {
            if (Sides[i] == Side.Middle)
            {
                exact[i] = positions[i] with { X = 0 };
            }
            else if (Sides[i] == Side.Right && Twins[i] is >= 0 and int twin)
            {
                Vector3d image = positions[twin] with { X = -positions[twin].X };
                exact[i] = Vector3d.Distance(image, positions[i]) <= 2 * rounding ? image : positions[i];
            }
        }

        return exact;
    }

    private static List<int> Partners(int left, IReadOnlyList<Vector3d> positions, Side[] sides, int[] twins) =>
        [.. Enumerable.Range(0, twins.Length).Where(right => sides[right] == Side.Right && twins[right] < 0 && IsMirror(positions[left], positions[right]))];

    private static bool IsMirror(Vector3d p, Vector3d q) => Vector3d.Distance(p, q with { X = -q.X }) <= OffMirror;
}
