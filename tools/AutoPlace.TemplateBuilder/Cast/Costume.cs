using AutoPlace.Geometry;
using AutoPlace.TemplateBuilder.Heads;

namespace AutoPlace.TemplateBuilder.Cast;

/// <summary>What a puppet wears on its head. Pieces of their own, over skin that goes on below them.</summary>
internal static class Costume
{
    /// <summary>Adds a full beard over cheeks and chin.</summary>
    public static void AddBeard(PuppetBuilder builder)
    {
        (Vector3d[] points, int[] triangles) = builder.Shell(Fullness, 1.0);
        int[] vertices = [.. points.Select(builder.Mesh.AddVertex)];
        for (int t = 0; t < triangles.Length; t += 3)
        {
            builder.Mesh.AddFace("beard", [vertices[triangles[t]], vertices[triangles[t + 1]], vertices[triangles[t + 2]]]);
        }
    }

    /// <summary>Adds a felt hat: a profile turned about a leaning axis.</summary>
    /// <param name="mesh">Receives it.</param>
    /// <param name="band">Middle of the opening.</param>
    public static void AddHat(PolygonMeshBuilder mesh, Vector3d band)
    {
        const int Segments = 40;
        const double HalfBreadth = 1.32, HalfDepth = 1.62, Lean = 0.13;
        (double Out, double Up)[] profile =
            [(0.02, 1.28), (0.40, 1.32), (0.70, 1.28), (0.86, 1.10), (0.93, 0.70), (1.0, 0.16), (1.08, 0.04), (1.38, 0.00), (1.62, 0.10), (1.63, 0.06), (1.38, -0.06), (1.0, -0.05), (0.96, 0.30)];
        int[][] rings = [.. profile.Select(p => Enumerable.Range(0, Segments).Select(s => mesh.AddVertex(At(p.Out, p.Up, 2 * Math.PI * s / Segments))).ToArray())];
        mesh.AddFace("hat", rings[0]);
        for (int r = 0; r + 1 < rings.Length; r++)
        {
            for (int s = 0; s < Segments; s++)
            {
                int next = (s + 1) % Segments;
                mesh.AddFace("hat", [rings[r][s], rings[r + 1][s], rings[r + 1][next], rings[r][next]]);
            }
        }

        Vector3d At(double outward, double up, double turn)
        {
            double x = HalfBreadth * outward * Math.Sin(turn), z = HalfDepth * outward * Math.Cos(turn);
            return band + new Vector3d(x, (up * Math.Cos(Lean)) + (z * Math.Sin(Lean)), (z * Math.Cos(Lean)) - (up * Math.Sin(Lean)));
        }
    }

    // How thick the beard is over a point of the template's skin, from 0 to 1, and how far it hangs.
    private static (double Thickness, double Hang) Fullness(Vector3d p)
    {
        double side = Math.Abs(p.X);

        // Its upper edge climbs from under the nose over the cheek to the front of the ear.
        double upperEdge = side < 0.5 ? -0.78 : -0.78 + (0.45 * Step((side - 0.5) / 0.6));
        double below = Step((upperEdge - p.Y) / 0.40);
        double ahead = Step((p.Z + 0.95) / 0.7);
        double aboveNeck = Step((p.Y + 2.05) / 0.25);
        double lips = Step((Math.Sqrt(Math.Pow(side / 0.46, 2) + Math.Pow((p.Y + 1.13) / 0.20, 2)) - 1) / 0.35);
        double hang = Step((-1.35 - p.Y) / 0.4) * Step((p.Z + 0.45) / 0.6);
        return (below * ahead * aboveNeck * lips, hang);
    }

    private static double Step(double t)
    {
        t = Math.Clamp(t, 0, 1);
        return t * t * (3 - (2 * t));
    }
}
