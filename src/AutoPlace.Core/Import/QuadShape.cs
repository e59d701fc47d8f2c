using System.Numerics;

namespace AutoPlace.Import;

/// <summary>How good a quad two triangles make together, independent of size.</summary>
internal static class QuadShape
{
    /// <summary>Least sine of an inner angle, about 3 degrees: below, the quad is as good as a triangle.</summary>
    private const float LeastSine = 0.05f;

    /// <summary>Least cosine between the two halves' normals, 75 degrees: below, the quad is folded.</summary>
    private const float LeastFold = 0.26f;

    /// <summary>
    /// Score of the quad a, b, c, d with the diagonal from a to c: half planarity (cosine of the fold along the
    /// diagonal), half squareness (one minus the largest cosine of an inner angle, by amount). 1 is a flat rectangle.
    /// </summary>
    /// <returns>A score in (0, 1], or 0 for a quad that is folded, not convex or degenerate.</returns>
    public static float Score(Vector3 a, Vector3 b, Vector3 c, Vector3 d)
    {
        var first = Vector3.Cross(b - a, c - a);
        var second = Vector3.Cross(c - a, d - a);
        float fold = Vector3.Dot(first, second) / MathF.Sqrt(first.LengthSquared() * second.LengthSquared());
        if (!(fold >= LeastFold))
        {
            return 0;
        }

        var normal = Vector3.Normalize(first + second);
        var ab = Vector3.Normalize(b - a);
        var bc = Vector3.Normalize(c - b);
        var cd = Vector3.Normalize(d - c);
        var da = Vector3.Normalize(a - d);
        float sine = MathF.Min(
            MathF.Min(Vector3.Dot(Vector3.Cross(da, ab), normal), Vector3.Dot(Vector3.Cross(ab, bc), normal)),
            MathF.Min(Vector3.Dot(Vector3.Cross(bc, cd), normal), Vector3.Dot(Vector3.Cross(cd, da), normal)));
        if (!(sine >= LeastSine))
        {
            return 0;
        }

        float cosine = MathF.Max(
            MathF.Max(MathF.Abs(Vector3.Dot(da, ab)), MathF.Abs(Vector3.Dot(ab, bc))),
            MathF.Max(MathF.Abs(Vector3.Dot(bc, cd)), MathF.Abs(Vector3.Dot(cd, da))));
        return (0.5f * fold) + (0.5f * (1 - cosine));
    }
}
