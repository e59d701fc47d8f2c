using AutoPlace.Geometry;
using AutoPlace.TemplateBuilder.Lattice;

namespace AutoPlace.TemplateBuilder.Heads.Modelled;

/// <summary>
/// Balls with rings about the line of sight and a slight cornea, of the size of living ones.
/// </summary>
internal static class Eyeballs
{
    private const int Segments = 24;
    private const int Rings = 13;

    // Half-angle of the cornea seen from the ball's centre and its height, after the mean's eyeballs.
    private const double CornealAngle = 0.55;
    private const double CornealHeight = 0.020;

    /// <summary>Adds both balls, mirror images of each other.</summary>
    public static void Add(PolygonMeshBuilder mesh, Vector3d eye)
    {
        AddBall(mesh, "eyeball_left", p => eye + (p * MeanGuides.BallRadius), turnedOver: false);
        AddBall(mesh, "eyeball_right", p => (eye + (p * MeanGuides.BallRadius)) with { X = -(eye.X + (p.X * MeanGuides.BallRadius)) }, turnedOver: true);

        void AddBall(PolygonMeshBuilder builder, string part, Func<Vector3d, Vector3d> place, bool turnedOver)
        {
            int[][] rings = [.. Enumerable.Range(1, Rings).Select(ring => Enumerable.Range(0, Segments).Select(s => builder.AddVertex(place(Point(ring, s)))).ToArray())];
            for (int ring = 0; ring + 1 < Rings; ring++)
            {
                for (int s = 0; s < Segments; s++)
                {
                    int next = (s + 1) % Segments;
                    Face([rings[ring][s], rings[ring + 1][s], rings[ring + 1][next], rings[ring][next]]);
                }
            }

            Cap(rings[0], 0, front: true);
            Cap(rings[^1], Rings + 1, front: false);

            void Face(int[] corners) => builder.AddFace(part, turnedOver ? [.. corners.Reverse()] : corners);

            // A grid closes each end, so that all faces are quads.
            void Cap(int[] loop, int pole, bool front)
            {
                const int Side = Segments / 4;
                int[,] grid = new int[Side + 1, Side + 1];
                for (int k = 0; k < Segments; k++)
                {
                    (int i, int j) = (k / Side) switch
                    {
                        0 => (k, 0),
                        1 => (Side, k - Side),
                        2 => ((3 * Side) - k, Side),
                        _ => (0, (4 * Side) - k),
                    };
                    grid[i, j] = loop[k];
                }

                for (int i = 1; i < Side; i++)
                {
                    for (int j = 1; j < Side; j++)
                    {
                        grid[i, j] = builder.AddVertex(place(Inside(2.0 * i / Side - 1, 2.0 * j / Side - 1, Math.Abs(pole - 1) == 1 ? 1 : Rings, front)));
                    }
                }

                for (int i = 0; i < Side; i++)
                {
                    for (int j = 0; j < Side; j++)
                    {
                        int[] quad = [grid[i, j], grid[i + 1, j], grid[i + 1, j + 1], grid[i, j + 1]];
                        Face(front ? quad : [.. quad.Reverse()]);
                    }
                }
            }
        }
    }

    private static Vector3d Point(double ring, double segment) => OnBall(Math.PI * ring / (Rings + 1), Azimuth(segment));

    // A cap's corners lie on segments 0, 6, 12, 18, at the diagonals.
    private static double Azimuth(double segment) => (2 * Math.PI * segment / Segments) - (3 * Math.PI / 4);

    // A point of the square [-1, 1]^2 on the cap, whose border is the given ring.
    private static Vector3d Inside(double u, double v, int ring, bool front)
    {
        double reach = Math.Max(Math.Abs(u), Math.Abs(v));
        double rim = Math.PI * ring / (Rings + 1);
        double polar = front ? rim * reach : Math.PI - ((Math.PI - rim) * reach);
        if (reach == 0)
        {
            return OnBall(polar, 0);
        }

        // Equal angles along each side of the square.
        double along = Math.Abs(u) >= Math.Abs(v) ? v / u : u / v;
        double quarter = along * Math.PI / 4;
        double azimuth = Math.Abs(u) >= Math.Abs(v) ? quarter + (u > 0 ? 0 : Math.PI) : (Math.PI / 2) - quarter + (v > 0 ? 0 : Math.PI);
        return OnBall(polar, azimuth);
    }

    private static Vector3d OnBall(double polar, double azimuth)
    {
        double bulge = polar < CornealAngle ? CornealHeight / MeanGuides.BallRadius * (1 + Math.Cos(Math.PI * polar / CornealAngle)) / 2 : 0;
        return new Vector3d(Math.Sin(polar) * Math.Cos(azimuth), Math.Sin(polar) * Math.Sin(azimuth), Math.Cos(polar)) * (1 + bulge);
    }
}
