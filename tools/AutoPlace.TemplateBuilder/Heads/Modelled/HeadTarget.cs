using System.Numerics;
using AutoPlace.Geometry;
using AutoPlace.TemplateBuilder.Sources;

namespace AutoPlace.TemplateBuilder.Heads.Modelled;

/// <summary>The skin that the modelled head is laid on.</summary>
internal sealed class HeadTarget
{
    private readonly SkinSurface _skin;
    private readonly BoundingVolumeHierarchy _withoutEars;

    public HeadTarget(SkinSurface skin)
    {
        _skin = skin;
        _withoutEars = new BoundingVolumeHierarchy(WithoutHollows(skin.Mesh));
    }

    /// <summary>The point of the face straight behind (x, y).</summary>
    public Vector3d Face(double x, double y)
    {
        Vector3d p = (_skin.FromOutside(new Vector3d(x, y, 0), -Vector3d.UnitZ) ?? throw new InvalidOperationException($"No skin behind {x}, {y}.")).Point;
        return x == 0 ? p with { X = 0 } : p;
    }

    /// <summary>The nearest point of the skin, ears left out; midline points stay on the midline.</summary>
    public Vector3d Near(double x, double y, double z) => Near(new Vector3d(x, y, z));

    /// <inheritdoc cref="Near(double, double, double)"/>
    public Vector3d Near(Vector3d guide)
    {
        Vector3d p = _withoutEars.ClosestPoint((Vector3)guide).Position;
        return guide.X == 0 ? p with { X = 0 } : p;
    }

    /// <summary>x of the head or ear seen from the left at (z, y); null where there is none of the left half.</summary>
    public double? SideX(double z, double y, bool ears)
    {
        const float Far = 4;
        var origin = new Vector3(Far, (float)y, (float)z);
        double? x = ears
            ? _skin.FromOutside(new Vector3d(0, y, z), -Vector3d.UnitX)?.Point.X
            : _withoutEars.CastRay(origin, -Vector3.UnitX) is { IsHit: true } hit ? hit.Position.X : null;
        return x > 0.9 ? x : null;
    }

    // Ears have a shape of their own, and what lines nostrils or lies between lips must not draw the skin inside.
    private static TriangleMesh WithoutHollows(TriangleMesh skin)
    {
        var index = new BoundingVolumeHierarchy(skin);
        var kept = new List<int>();
        for (int t = 0; t < skin.TriangleCount; t++)
        {
            (Vector3 a, Vector3 b, Vector3 c) = skin.Corners(t);
            Vector3 centre = (a + b + c) / 3;
            bool ear = MathF.Abs(centre.X) > 1.2f && centre.Y is > -0.95f and < 0.06f && centre.Z is > -1.6f and < -0.98f;
            if (!ear && IsOpen(index, centre, Vector3.Normalize(Vector3.Cross(b - a, c - a))))
            {
                kept.AddRange(skin.Indices.Slice(3 * t, 3));
            }
        }

        return new TriangleMesh(skin.Positions.ToArray(), [.. kept]);
    }

    // Of five directions about the normal at least three lead away from the head.
    private static bool IsOpen(BoundingVolumeHierarchy index, Vector3 point, Vector3 normal)
    {
        const float Reach = 0.3f, Tilt = 0.6f, Start = 1e-3f;
        const int Enough = 3;
        Vector3 side = Vector3.Normalize(Vector3.Cross(normal, MathF.Abs(normal.Y) < 0.9f ? Vector3.UnitY : Vector3.UnitX));
        Vector3 other = Vector3.Cross(normal, side);
        Vector3[] directions = [normal, normal + (Tilt * side), normal - (Tilt * side), normal + (Tilt * other), normal - (Tilt * other)];
        return directions.Count(direction => !index.MeetsRay(point + (Start * normal), direction, Reach)) >= Enough;
    }
}
