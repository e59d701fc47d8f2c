using AutoPlace.Geometry;

namespace AutoPlace.TemplateBuilder.Lattice;

/// <summary>
/// Edge lines of the reference head that rows of the lattice lie on: positions of their vertices, midline and left
/// side, atlas coordinates.
/// </summary>
internal sealed record HeadLoops
{
    /// <summary>Free margin of the upper lid, inner to outer canthus.</summary>
    public required Vector3d[] LidUpperMargin { get; init; }

    /// <summary>Free margin of the lower lid, inner to outer canthus.</summary>
    public required Vector3d[] LidLowerMargin { get; init; }

    /// <summary>Crease of the upper lid, inner to outer end.</summary>
    public required Vector3d[] LidUpperCrease { get; init; }

    /// <summary>Crease of the lower lid, inner to outer end.</summary>
    public required Vector3d[] LidLowerCrease { get; init; }

    /// <summary>Loop between the upper lid's crease and the brow, inner to outer end.</summary>
    public required Vector3d[] LidUpperFold { get; init; }

    /// <summary>Brow, midline outward.</summary>
    public required Vector3d[] Brow { get; init; }

    /// <summary>Line across the forehead, midline outward.</summary>
    public required Vector3d[] Forehead { get; init; }

    /// <summary>Border of the upper lip's vermilion, midline to corner.</summary>
    public required Vector3d[] LipUpperBorder { get; init; }

    /// <summary>Border of the lower lip's vermilion, midline to corner.</summary>
    public required Vector3d[] LipLowerBorder { get; init; }

    /// <summary>Contact line of the upper lip, midline to inside the corner.</summary>
    public required Vector3d[] LipUpperContact { get; init; }

    /// <summary>Contact line of the lower lip, midline to inside the corner.</summary>
    public required Vector3d[] LipLowerContact { get; init; }

    /// <summary>Fold between nose wing and mouth corner, from the wing down.</summary>
    public required Vector3d[] Nasolabial { get; init; }

    /// <summary>Fold under the lower lip, midline outward.</summary>
    public required Vector3d[] Mentolabial { get; init; }

    /// <summary>Three lines across the cheek, from the nose outward, upper first.</summary>
    public required Vector3d[][] Cheek { get; init; }

    /// <summary>The vertex at a fraction of the number of edges.</summary>
    public static Vector3d At(Vector3d[] line, double fraction) =>
        line[(int)Math.Round(fraction * (line.Length - 1), MidpointRounding.AwayFromZero)];

    /// <summary>The vertex nearest to a point.</summary>
    public static Vector3d Nearest(Vector3d[] line, Vector3d guide) => line.MinBy(p => Vector3d.Distance(p, guide));

    /// <summary>The point of the line, on an edge or at a vertex, nearest to a point.</summary>
    public static Vector3d Foot(Vector3d[] line, Vector3d guide)
    {
        return Enumerable.Range(1, line.Length - 1).Select(Foot).MinBy(p => Vector3d.Distance(p, guide));

        Vector3d Foot(int i)
        {
            Vector3d edge = line[i] - line[i - 1];
            double t = Vector3d.Dot(guide - line[i - 1], edge) / edge.LengthSquared;
            return Vector3d.Lerp(line[i - 1], line[i], Math.Clamp(t, 0, 1));
        }
    }
}
