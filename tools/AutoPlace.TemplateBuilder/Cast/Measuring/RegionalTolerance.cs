using System.Numerics;
using AutoPlace.Geometry;
using AutoPlace.Template;

namespace AutoPlace.TemplateBuilder.Cast.Measuring;

/// <summary>How far from the truth a joint may be before a person has to move it, in shares of the interocular distance.</summary>
/// <param name="Along">Along the skin; of joints inside the head in any direction.</param>
/// <param name="Across">Across the skin.</param>
internal readonly record struct RegionalTolerance(double Along, double Across)
{
    /// <summary>Tolerance of a joint. Lids and lips 2 %, brows and nose 3 %, pivots 2 %, what the hinge carries 8 %; all others, like cheek and outline, 5 % along the skin and 2 % across.</summary>
    public static RegionalTolerance Of(ControlJoint joint) => joint switch
    {
        { Ride: Ride.JawHinge } => new(0.08, 0.08),
        { Region: "eyelid" or "lip" } => new(0.02, 0.02),
        { Region: "brow" or "nose" } => new(0.03, 0.03),
        { Kind: JointKind.Pivot } => new(0.02, 0.02),
        { Ride: Ride.Skin } => new(0.05, 0.02),
        _ => new(0.05, 0.05),
    };

    /// <summary>Error over tolerance: a joint is well placed up to 1.</summary>
    /// <param name="error">From the truth to the joint, interocular distances.</param>
    /// <param name="normal">Unit normal of the skin at the truth.</param>
    public double Excess(Vector3d error, Vector3d normal)
    {
        double across = Math.Abs(Vector3d.Dot(error, normal));
        return Along == Across
            ? error.Length / Along
            : Math.Max(Math.Sqrt(Math.Max(0, error.LengthSquared - (across * across))) / Along, across / Across);
    }

    /// <summary>Unit normal of the skin nearest to a point.</summary>
    public static Vector3d NormalAt(BoundingVolumeHierarchy skin, Vector3d point)
    {
        (Vector3 a, Vector3 b, Vector3 c) = skin.Mesh.Corners(skin.ClosestPoint((Vector3)point).Point.Triangle);
        return Vector3d.Cross((Vector3d)b - a, (Vector3d)c - a).Normalized();
    }
}
