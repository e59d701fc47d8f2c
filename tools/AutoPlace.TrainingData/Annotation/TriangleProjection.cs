using System.Numerics;

namespace AutoPlace.TrainingData.Annotation;

/// <summary>Closest point of a triangle.</summary>
internal static class TriangleProjection
{
    /// <summary>Barycentric weights of the triangle's point closest to <paramref name="p"/> (Ericson 2005, section 5.1.5).</summary>
    public static Vector3 Barycentric(Vector3 p, Vector3 a, Vector3 b, Vector3 c)
    {
        Vector3 ab = b - a, ac = c - a;
        float d1 = Vector3.Dot(ab, p - a), d2 = Vector3.Dot(ac, p - a);
        float d3 = Vector3.Dot(ab, p - b), d4 = Vector3.Dot(ac, p - b);
        float d5 = Vector3.Dot(ab, p - c), d6 = Vector3.Dot(ac, p - c);
        if (d1 <= 0 && d2 <= 0)
        {
            return Vector3.UnitX;
        }

        if (d3 >= 0 && d4 <= d3)
        {
            return Vector3.UnitY;
        }

        if (d6 >= 0 && d5 <= d6)
        {
            return Vector3.UnitZ;
        }

        float areaC = (d1 * d4) - (d3 * d2), areaB = (d5 * d2) - (d1 * d6), areaA = (d3 * d6) - (d5 * d4);
        if (areaC <= 0 && d1 >= 0 && d3 <= 0)
        {
            float t = d1 / (d1 - d3);
            return new(1 - t, t, 0);
        }

        if (areaB <= 0 && d2 >= 0 && d6 <= 0)
        {
            float t = d2 / (d2 - d6);
            return new(1 - t, 0, t);
        }

        if (areaA <= 0 && d4 >= d3 && d5 >= d6)
        {
            float t = (d4 - d3) / (d4 - d3 + d5 - d6);
            return new(0, 1 - t, t);
        }

        float sum = areaA + areaB + areaC;
        return new(areaA / sum, areaB / sum, areaC / sum);
    }
}
