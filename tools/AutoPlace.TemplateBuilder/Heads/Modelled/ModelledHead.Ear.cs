using AutoPlace.Geometry;

namespace AutoPlace.TemplateBuilder.Heads.Modelled;

internal sealed partial class ModelledHead
{
    /// <summary>Corners of the left ear, counter-clockwise seen from the left: front top, front bottom, back bottom, back top; 18 quads.</summary>
    private static readonly string[] EarKeys = ["ft", "fb", "bb", "bt"];
    private static readonly int[] EarQuads = [4, 4, 5, 5];

    // Outlines of the ear in the side view, (z, y), set by eye on the mean; they begin at the front top and run over
    // the top, down the back and up the front.
    private static readonly (double Z, double Y)[] Root =
    [
        (-1.00, -0.15), (-1.05, -0.08), (-1.12, -0.045), (-1.20, -0.05), (-1.27, -0.09), (-1.325, -0.15), (-1.36, -0.23), (-1.37, -0.32), (-1.36, -0.41),
        (-1.33, -0.50), (-1.28, -0.59), (-1.21, -0.67), (-1.13, -0.76), (-1.04, -0.83), (-0.955, -0.825), (-0.925, -0.66), (-0.945, -0.49), (-0.965, -0.31),
    ];

    private static readonly (double Z, double Y)[] Edge =
    [
        (-1.10, -0.12), (-1.16, -0.045), (-1.24, -0.010), (-1.33, 0.0), (-1.415, -0.03), (-1.49, -0.10), (-1.535, -0.20), (-1.552, -0.31), (-1.537, -0.42),
        (-1.50, -0.52), (-1.44, -0.63), (-1.36, -0.73), (-1.25, -0.835), (-1.13, -0.895), (-1.02, -0.875), (-0.985, -0.75), (-1.025, -0.585), (-1.045, -0.40),
    ];

    private static readonly (double Z, double Y)[] Fold =
    [
        (-1.135, -0.17), (-1.18, -0.10), (-1.25, -0.065), (-1.32, -0.06), (-1.39, -0.085), (-1.45, -0.145), (-1.49, -0.22), (-1.503, -0.315), (-1.49, -0.41),
        (-1.455, -0.505), (-1.40, -0.60), (-1.325, -0.69), (-1.23, -0.775), (-1.13, -0.82), (-1.05, -0.80), (-1.03, -0.715), (-1.065, -0.575), (-1.08, -0.44),
    ];

    private static readonly (double Z, double Y)[] Groove =
    [
        (-1.16, -0.23), (-1.195, -0.155), (-1.25, -0.115), (-1.315, -0.11), (-1.37, -0.135), (-1.42, -0.185), (-1.455, -0.245), (-1.465, -0.32), (-1.455, -0.40),
        (-1.425, -0.485), (-1.37, -0.565), (-1.305, -0.645), (-1.22, -0.71), (-1.14, -0.745), (-1.08, -0.725), (-1.055, -0.67), (-1.08, -0.56), (-1.10, -0.46),
    ];

    private static readonly (double Z, double Y)[] Ridge =
    [
        (-1.185, -0.29), (-1.215, -0.225), (-1.255, -0.185), (-1.305, -0.18), (-1.345, -0.21), (-1.375, -0.25), (-1.395, -0.295), (-1.40, -0.345), (-1.39, -0.405),
        (-1.37, -0.465), (-1.335, -0.525), (-1.285, -0.58), (-1.215, -0.63), (-1.15, -0.655), (-1.105, -0.65), (-1.085, -0.62), (-1.095, -0.545), (-1.115, -0.475),
    ];

    // The front of the ear from the lobe up, by eye on the mean: lobe, notch, tragus, helix entering the bowl, helix. For
    // each of them the rings between root and floor, (x, y, z).
    private static readonly (int Place, Vector3d[] Rings)[] EarFront =
    [
        (14, [new(1.120, -0.815, -0.985), new(1.160, -0.835, -1.010), new(1.185, -0.795, -1.035), new(1.180, -0.735, -1.060), new(1.145, -0.665, -1.085), new(1.100, -0.620, -1.105), new(1.075, -0.575, -1.135)]),
        (15, [new(1.150, -0.665, -0.970), new(1.155, -0.665, -1.010), new(1.160, -0.660, -1.045), new(1.150, -0.645, -1.070), new(1.120, -0.620, -1.090), new(1.075, -0.580, -1.105), new(1.065, -0.530, -1.130)]),
        (16, [new(1.175, -0.500, -0.985), new(1.195, -0.505, -1.030), new(1.215, -0.505, -1.070), new(1.195, -0.505, -1.090), new(1.120, -0.500, -1.092), new(1.065, -0.495, -1.105), new(1.065, -0.480, -1.135)]),
        (17, [new(1.180, -0.330, -1.020), new(1.195, -0.345, -1.070), new(1.205, -0.355, -1.115), new(1.200, -0.365, -1.150), new(1.180, -0.380, -1.180), new(1.125, -0.395, -1.180), new(1.085, -0.415, -1.165)]),
        (0, [new(1.225, -0.140, -1.060), new(1.265, -0.125, -1.105), new(1.300, -0.150, -1.140), new(1.285, -0.205, -1.175), new(1.215, -0.265, -1.205), new(1.165, -0.315, -1.220), new(1.120, -0.365, -1.215)]),
    ];

    private static readonly (double Z, double Y) Bowl = (-1.20, -0.46);
    private const double FloorX = 1.10;

    private void Ear()
    {
        Vector3d[] root = [.. Root.Select(p => new Vector3d(Math.Min(_target.SideX(p.Z, p.Y, ears: false) ?? double.MaxValue, SideBehindEar(p.Y)), p.Y, p.Z))];
        Vector3d[] edge = Seen(Edge, 0.03), fold = Seen(Fold, 0), groove = Seen(Groove, 0), ridge = Seen(Ridge, 0);
        Vector3d[] wall = Hollow(ridge, 0.18, 0.65), floor = Hollow(ridge, 0.48, 0.95);
        for (int k = 0; k < edge.Length; k++)
        {
            // The edge lies a little behind the fold's front, so that the rim is round.
            edge[k] = new(Math.Min(edge[k].X, fold[k].X + 0.01), Edge[k].Y, Edge[k].Z);
        }

        Vector3d[] back = [.. root.Zip(edge, (r, e) => Vector3d.Lerp(r, e, 0.55))];
        Vector3d[][] rings = [root, back, edge, fold, groove, ridge, wall, floor];
        foreach ((int place, Vector3d[] front) in EarFront)
        {
            for (int i = 0; i < front.Length; i++)
            {
                rings[i + 1][place] = front[i];
            }
        }

        for (int i = 0; i < rings.Length; i++)
        {
            Vector3d[] ring = rings[i];
            Ring($"ear{i}_", EarKeys, EarQuads, closed: true, (side, t) => At(ring, side, t), pinned: true);
            if (i > 0)
            {
                _layout.Rings(Hidden, $"ear{i - 1}_", $"ear{i}_", EarKeys, closed: true, radial: 1);
            }
        }

        // The ear hides the side of the head: a straight line from above it to the neck.
        static double SideBehindEar(double y) => 1.266 + (0.19 * y);

        // The ridge drawn in towards the middle of the bowl and down to its floor.
        static Vector3d[] Hollow(Vector3d[] ridge, double share, double depth) =>
            [.. ridge.Select(p => new Vector3d(p.X + ((FloorX - p.X) * depth), p.Y + ((Bowl.Y - p.Y) * share), p.Z + ((Bowl.Z - p.Z) * share)))];

        // Keys run down the front first, the outlines the other way round.
        static Vector3d At(Vector3d[] ring, int side, double t)
        {
            double k = ring.Length - EarQuads.Take(side).Sum() - (t * EarQuads[side]);
            int low = (int)Math.Floor(k);
            return Vector3d.Lerp(ring[low % ring.Length], ring[(low + 1) % ring.Length], k - low);
        }
    }

    // Points of the mean's ear seen from the left, smoothed along the ring.
    private Vector3d[] Seen((double Z, double Y)[] outline, double shrink)
    {
        int n = outline.Length;
        double[] x = new double[n];
        for (int k = 0; k < n; k++)
        {
            double z = outline[k].Z + ((Bowl.Z - outline[k].Z) * shrink), y = outline[k].Y + ((Bowl.Y - outline[k].Y) * shrink);
            x[k] = _target.SideX(z, y, ears: true) ?? throw new InvalidOperationException($"No ear at z {z}, y {y}.");
        }

        return [.. outline.Select((p, k) => new Vector3d((0.25 * x[(k + n - 1) % n]) + (0.5 * x[k]) + (0.25 * x[(k + 1) % n]), p.Y, p.Z))];
    }
}
