using AutoPlace.Geometry;
using AutoPlace.TemplateBuilder.Lattice;

namespace AutoPlace.TemplateBuilder.Heads.Modelled;

internal sealed partial class ModelledHead
{
    /// <summary>Corners round the left eye: medial, below, lateral, above; 26 quads, thirteen along each lid.</summary>
    private static readonly string[] EyeKeys = ["M", "BM", "B", "LL", "L", "UL", "U", "UM"];
    private static readonly int[] EyeQuads = [2, 4, 3, 4, 4, 3, 3, 3];

    private void Eye()
    {
        Vector3d[] orbit = Spline([(0.185, -0.03), (0.28, -0.25), (0.53, -0.345), (0.80, -0.27), (0.925, -0.04), (0.83, 0.195), (0.54, 0.315), (0.28, 0.20)]);
        Vector3d[] crease = Spline([(0.247, -0.058), (0.33, -0.143), (0.50, -0.185), (0.67, -0.150), (0.788, -0.040), (0.69, 0.082), (0.53, 0.125), (0.385, 0.075)]);
        Ring("orbit_", EyeKeys, EyeQuads, closed: true, (side, t) => OnSpline(orbit, side, t), pinned: true);
        Ring("fold_", EyeKeys, EyeQuads, closed: true, (side, t) => Between(OnSpline(crease, side, t), OnSpline(orbit, side, t)), pinned: true);
        Ring("crease_", EyeKeys, EyeQuads, closed: true, (side, t) => OnSpline(crease, side, t), pinned: true);
        Ring("lash_", EyeKeys, EyeQuads, closed: true, (side, t) => Lid(side, t, LashEdge), pinned: true);
        Ring("margin_", EyeKeys, EyeQuads, closed: true, (side, t) => Lid(side, t, (p, _) => p), pinned: true);
        Ring("behind_", EyeKeys, EyeQuads, closed: true, (side, t) => Lid(side, t, (p, _) => Lining(p, 0.20)), pinned: true);
        Ring("pouch_", EyeKeys, EyeQuads, closed: true, (side, t) => Lid(side, t, (p, _) => Lining(p, 0.55)), pinned: true);
        _layout.Rings(Skin, "orbit_", "fold_", EyeKeys, closed: true, radial: 2);
        _layout.Rings(Skin, "fold_", "crease_", EyeKeys, closed: true, radial: 2);
        _layout.Rings(Skin, "crease_", "lash_", EyeKeys, closed: true, radial: 2);
        _layout.Rings(Hidden, "lash_", "margin_", EyeKeys, closed: true, radial: 1);
        _layout.Rings(Hidden, "margin_", "behind_", EyeKeys, closed: true, radial: 1);
        _layout.Rings(Hidden, "behind_", "pouch_", EyeKeys, closed: true, radial: 1);

        Vector3d Between(Vector3d a, Vector3d b) => _target.Face((a.X + b.X) / 2, (a.Y + b.Y) / 2);
    }

    private Vector3d[] Spline((double X, double Y)[] points)
    {
        const int Steps = 24;
        Vector3d[] flat = SmoothCurve.Closed([.. points.Select(p => new Vector3d(p.X, p.Y, 0))], Steps);
        return [.. flat.Select(p => _target.Face(p.X, p.Y))];
    }

    private static Vector3d OnSpline(Vector3d[] closed, int side, double t)
    {
        int steps = closed.Length / EyeKeys.Length;
        Vector3d[] span = [.. Enumerable.Range(side * steps, steps + 1).Select(i => closed[i % closed.Length])];
        return Polyline.At(span, t);
    }

    // The lids' margins as functions of a fraction from inner (0) to outer canthus (1).
    private Vector3d Lid(int side, double t, Func<Vector3d, double, Vector3d> shift)
    {
        // Quads from the inner canthus at the beginning of each side; sides 0-3 lie below, 4-7 above, outer to inner.
        double quads = EyeQuads.Take(side).Sum() + (t * EyeQuads[side]);
        double half = EyeQuads.Sum() / 2.0;
        bool upper = quads > half;
        double fraction = (upper ? (2 * half) - quads : quads) / half;
        double up = (upper ? 1 : -1) * Math.Sin(Math.PI * fraction);

        // The mean's lids touch the ball; a tear film's breadth keeps the quads between them out of it.
        const double LeastRadius = MeanGuides.BallRadius + 0.0042;
        Vector3d margin = Polyline.At(upper ? _guides.LidUpper : _guides.LidLower, fraction) - _guides.EyeCentre;
        return shift(_guides.EyeCentre + (margin * Math.Max(1, LeastRadius / margin.Length)), up);
    }

    // The edge where lashes grow: the margin is about a millimetre thick.
    private Vector3d LashEdge(Vector3d margin, double up)
    {
        Vector3d outward = (margin - _guides.EyeCentre).Normalized();
        Vector3d edge = margin + (outward * 0.014) + new Vector3d(0, 0.010 * up, 0);
        return edge + new Vector3d(0.014 * Math.Sign(margin.X - 0.5) * (1 - Math.Abs(up)), 0, 0);
    }

    // The lid's lining slides back along the ball, a tear film away from it, further from the line of sight by an angle.
    private Vector3d Lining(Vector3d margin, double angle)
    {
        const double BallAndFilm = MeanGuides.BallRadius + 0.0097;
        Vector3d toMargin = (margin - _guides.EyeCentre).Normalized();
        Vector3d aside = (toMargin with { Z = 0 }).Normalized();
        double polar = Math.Acos(toMargin.Z) + angle;
        return _guides.EyeCentre + (((aside * Math.Sin(polar)) + new Vector3d(0, 0, Math.Cos(polar))) * BallAndFilm);
    }
}
