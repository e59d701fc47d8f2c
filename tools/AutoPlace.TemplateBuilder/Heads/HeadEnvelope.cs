using System.Numerics;
using AutoPlace.Geometry;

namespace AutoPlace.TemplateBuilder.Heads;

/// <summary>What a ray from outside meets first.</summary>
internal enum EnvelopePart
{
    Skin,
    Eyeball,
    NeckCut,
}

/// <summary>A head seen from outside: skin, the eyeballs in its openings, and a level cut through the neck.</summary>
internal sealed class HeadEnvelope
{
    /// <summary>Point inside the head from which its whole surface is seen, atlas coordinates.</summary>
    public static Vector3d Centre { get; } = new(0, -0.35, -0.75);

    private const double NeckHeight = -2.4;
    private const double Far = 10;

    private readonly BoundingVolumeHierarchy _skin;
    private readonly Vector3d _eye;
    private readonly double _ballRadius;

    /// <param name="skin">The skin, symmetric about x = 0, atlas coordinates.</param>
    /// <param name="eye">Centre of the left eyeball.</param>
    /// <param name="ballRadius">Radius of either eyeball.</param>
    public HeadEnvelope(TriangleMesh skin, Vector3d eye, double ballRadius)
    {
        _skin = new BoundingVolumeHierarchy(skin);
        _eye = eye;
        _ballRadius = ballRadius;
    }

    /// <summary>
    /// The first point on the way from far outside to <paramref name="centre"/>, which lies on the midline. Points of
    /// the right half are mirror images of the left half to the last bit.
    /// </summary>
    public (Vector3d Point, EnvelopePart Part) Toward(Vector3d centre, Vector3d outward)
    {
        Vector3d left = (outward with { X = Math.Abs(outward.X) }).Normalized();
        double reach = left.Y < 0 ? Math.Min(Far, (NeckHeight - centre.Y) / left.Y) : Far;
        Vector3d origin = centre + (left * reach);
        RayHit hit = _skin.CastRay((Vector3)origin, (Vector3)(-left), (float)reach);
        (double distance, EnvelopePart part) = hit.IsHit && hit.IsFrontFace
            ? (hit.Parameter, EnvelopePart.Skin) : (reach < Far ? 0 : double.PositiveInfinity, EnvelopePart.NeckCut);
        if (BallDistance(origin, left) is { } ball && (ball < distance || part == EnvelopePart.NeckCut))
        {
            (distance, part) = (ball, EnvelopePart.Eyeball);
        }

        if (!double.IsFinite(distance))
        {
            throw new InvalidOperationException($"Nothing along {left}.");
        }

        Vector3d point = origin - (left * distance);
        return (point with { X = outward.X == 0 ? 0 : outward.X < 0 ? -point.X : point.X }, part);
    }

    private double? BallDistance(Vector3d origin, Vector3d outward)
    {
        Vector3d toEye = origin - _eye;
        double along = Vector3d.Dot(toEye, outward);
        double miss = toEye.LengthSquared - (along * along);
        double depth = (_ballRadius * _ballRadius) - miss;
        return depth > 0 ? along - Math.Sqrt(depth) : null;
    }
}
