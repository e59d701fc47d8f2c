using AutoPlace.Geometry;

namespace AutoPlace.TemplateBuilder.Lattice;

/// <summary>Points along a broken line.</summary>
internal static class Polyline
{
    /// <summary>The point at a fraction of the line's length, 0 at its beginning.</summary>
    public static Vector3d At(ReadOnlySpan<Vector3d> line, double fraction)
    {
        double total = 0;
        for (int i = 1; i < line.Length; i++)
        {
            total += Vector3d.Distance(line[i - 1], line[i]);
        }

        double rest = fraction * total;
        for (int i = 1; i < line.Length; i++)
        {
            double span = Vector3d.Distance(line[i - 1], line[i]);
            if (rest <= span && span > 0)
            {
                return Vector3d.Lerp(line[i - 1], line[i], rest / span);
            }

            rest -= span;
        }

        return line[^1];
    }
}
