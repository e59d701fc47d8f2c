using AutoPlace.Geometry;

namespace AutoPlace.TemplateBuilder.Cast;

/// <summary>A limb: a line with a radius at each end.</summary>
/// <param name="From">One end.</param>
/// <param name="To">The other end.</param>
/// <param name="RadiusFrom">Radius at the first end.</param>
/// <param name="RadiusTo">Radius at the second end.</param>
/// <param name="Flatness">Factor of the distance along z: above 1, the limb is flatter than it is broad.</param>
internal sealed record RoundCone(Vector3d From, Vector3d To, double RadiusFrom, double RadiusTo, double Flatness = 1)
{
    /// <summary>About the distance from the surface, negative inside.</summary>
    public double Distance(Vector3d p)
    {
        Vector3d along = To - From;
        double t = Math.Clamp(Vector3d.Dot(p - From, along) / along.LengthSquared, 0, 1);
        Vector3d aside = p - Vector3d.Lerp(From, To, t);
        return (aside with { Z = aside.Z * Flatness }).Length - (RadiusFrom + ((RadiusTo - RadiusFrom) * t));
    }

    /// <summary>Limbs that flow into each other: the smooth minimum of their distances (quadratic polynomial; Quilez 2013).</summary>
    /// <param name="limbs">The limbs.</param>
    /// <param name="blend">How far the flow reaches.</param>
    /// <param name="p">The point.</param>
    public static double Distance(IReadOnlyList<RoundCone> limbs, double blend, Vector3d p)
    {
        double distance = double.PositiveInfinity;
        foreach (RoundCone limb in limbs)
        {
            double other = limb.Distance(p);
            double near = Math.Max(blend - Math.Abs(distance - other), 0);
            distance = Math.Min(distance, other) - (double.IsFinite(near) ? near * near / (4 * blend) : 0);
        }

        return distance;
    }
}
