using System.Numerics;

namespace AutoPlace.Geometry;

/// <summary>
/// Tells inside from outside by how much of the surroundings is surface: the share of rays from a point, spread evenly
/// over all directions, that hit the mesh.
/// </summary>
/// <remarks>
/// Inside, the share is 1 less the solid angle of the holes that can be seen; outside of a convex surface it is under
/// 1/2, in a hollow of the face it can be more. It doesn't matter how faces are wound, nor whether they are there twice,
/// so this is the choice for heads with big holes, turned faces or hair cards; it costs one ray for each direction,
/// against about one ray for a whole <see cref="WindingNumber"/>, which is the choice everywhere else.
/// </remarks>
public static class InsideBySight
{
    /// <summary>Directions used by default: a standard deviation of at most 0.04, in practice under 0.02.</summary>
    public const int DefaultDirections = 128;

    /// <summary>
    /// A share to decide by: above it, not more than about a third of the surroundings is open, which the neck of a head
    /// isn't, and few hollows outside reach it.
    /// </summary>
    public const double Threshold = 0.7;

    /// <summary>The share of directions in which the mesh is in sight.</summary>
    /// <param name="hierarchy">The mesh's hierarchy.</param>
    /// <param name="point">In the mesh's frame.</param>
    /// <param name="directions">Number of directions, positive; they lie on a spiral (Swinbank and Purser 2006).</param>
    public static double Share(BoundingVolumeHierarchy hierarchy, Vector3 point, int directions = DefaultDirections)
    {
        ArgumentNullException.ThrowIfNull(hierarchy);
        ArgumentOutOfRangeException.ThrowIfNegativeOrZero(directions);
        int hits = 0;
        for (int i = 0; i < directions; i++)
        {
            hits += hierarchy.MeetsRay(point, Direction(i, directions)) ? 1 : 0;
        }

        return (double)hits / directions;
    }

    /// <summary>Direction <paramref name="i"/> of n: heights evenly spaced, each turned on by the golden angle.</summary>
    internal static Vector3 Direction(int i, int n)
    {
        double golden = Math.PI * (3 - Math.Sqrt(5));
        double z = 1 - (((2 * i) + 1.0) / n);
        double r = Math.Sqrt(1 - (z * z));
        return new Vector3((float)(r * Math.Cos(golden * i)), (float)(r * Math.Sin(golden * i)), (float)z);
    }
}
