using AutoPlace.Geometry;

namespace AutoPlace.TemplateBuilder.Heads.Modelled;

/// <summary>Evens out quads and lays them on a surface, turn by turn.</summary>
internal static class SurfaceFit
{
    /// <summary>
    /// Moves each free vertex towards the mean of its neighbours (along the surface where it belongs on one), then
    /// back onto the surface. Deterministic: every round reads the positions of the round before.
    /// </summary>
    /// <param name="head">Quads to shape.</param>
    /// <param name="onSurface">Whether a part lies on the surface; a vertex does if all its quads do.</param>
    /// <param name="project">Nearest point of the surface.</param>
    /// <param name="rounds">Number of rounds.</param>
    public static void Run(HalfHead head, Func<string, bool> onSurface, Func<Vector3d, Vector3d> project, int rounds)
    {
        const double Step = 0.5;
        int[][] neighbours = head.Neighbours();
        bool[] belongs = OnSurface(head, onSurface);
        var next = new Vector3d[head.Positions.Count];
        for (int round = 0; round < rounds; round++)
        {
            for (int v = 0; v < next.Length; v++)
            {
                Vector3d p = head.Positions[v];
                next[v] = head.Pinned[v] ? p : Moved(v, p);
            }

            for (int v = 0; v < next.Length; v++)
            {
                head.Positions[v] = next[v];
            }
        }

        Vector3d Moved(int v, Vector3d p)
        {
            bool middle = p.X == 0;
            Vector3d mean = Vector3d.Zero;
            double count = 0;
            foreach (int n in neighbours[v])
            {
                Vector3d q = head.Positions[n];
                mean += q;
                count++;

                // The mirror image of a midline vertex's neighbour is its neighbour too.
                if (middle && q.X != 0)
                {
                    mean += q with { X = -q.X };
                    count++;
                }
            }

            Vector3d moved = p + ((mean / count) - p) * Step;
            Vector3d placed = belongs[v] ? project(moved) : moved;
            return middle ? placed with { X = 0 } : placed;
        }
    }

    private static bool[] OnSurface(HalfHead head, Func<string, bool> onSurface)
    {
        bool[] belongs = new bool[head.Positions.Count];
        Array.Fill(belongs, true);
        for (int f = 0; f < head.Faces.Count; f++)
        {
            if (!onSurface(head.Parts[f]))
            {
                foreach (int v in head.Faces[f])
                {
                    belongs[v] = false;
                }
            }
        }

        return belongs;
    }
}
