using AutoPlace.Geometry;
using AutoPlace.TemplateBuilder.Lattice;

namespace AutoPlace.TemplateBuilder.Heads.Modelled;

internal sealed partial class ModelledHead
{
    /// <summary>Corners round the left half of the mouth: lower midline, lower lip, corner, upper lip, upper midline; 22 quads, eleven along each lip.</summary>
    private static readonly string[] MouthKeys = ["L0", "L1", "L2", "Mc", "U2", "U1", "U0"];
    private static readonly int[] MouthQuads = [4, 3, 4, 4, 3, 4];

    private void Mouth()
    {
        (double X, double Y)[] outer = [(0, _guides.Sublabiale.Y), (0.18, _guides.Sublabiale.Y + 0.005), (0.36, -1.345), (0.52, -1.13), (0.31, -0.925), (0.115, -0.865), (0, -0.875)];
        Vector3d[] around = SmoothCurve.Open([.. outer.Select(p => new Vector3d(p.X, p.Y, 0))], 16);
        Ring("mouth_", MouthKeys, MouthQuads, closed: false, (side, t) => Around(side, t), pinned: false);
        Ring("border_", MouthKeys, MouthQuads, closed: false, (side, t) => Lip(side, t, Border), pinned: true);
        Ring("contact_", MouthKeys, MouthQuads, closed: false, (side, t) => Lip(side, t, Contact), pinned: true);
        Ring("press_", MouthKeys, MouthQuads, closed: false, (side, t) => Lip(side, t, Press), pinned: true);
        Ring("inner_", MouthKeys, MouthQuads, closed: false, (side, t) => Lip(side, t, InnerLip), pinned: true);
        Ring("bag1_", MouthKeys, MouthQuads, closed: false, (side, t) => Lip(side, t, (upper, f) => Bag(upper, f, 0.60, 0.42, 0.475, 0.42)), pinned: true);
        Ring("bag2_", MouthKeys, MouthQuads, closed: false, (side, t) => Lip(side, t, (upper, f) => Bag(upper, f, 0.69, 0.49, -0.02, 0.30)), pinned: true);
        Ring("bag3_", MouthKeys, MouthQuads, closed: false, (side, t) => Lip(side, t, (upper, f) => Bag(upper, f, 0.42, 0.28, -0.80, 0.08)), pinned: true);
        _layout.Rings(Skin, "mouth_", "border_", MouthKeys, closed: false, radial: 3);
        _layout.Rings(Skin, "border_", "contact_", MouthKeys, closed: false, radial: 3);
        _layout.Rings(MouthBag, "contact_", "press_", MouthKeys, closed: false, radial: 1);
        _layout.Rings(MouthBag, "press_", "inner_", MouthKeys, closed: false, radial: 1);
        _layout.Rings(MouthBag, "inner_", "bag1_", MouthKeys, closed: false, radial: 2);
        _layout.Rings(MouthBag, "bag1_", "bag2_", MouthKeys, closed: false, radial: 2);
        _layout.Rings(MouthBag, "bag2_", "bag3_", MouthKeys, closed: false, radial: 2);

        Vector3d Around(int side, double t)
        {
            Vector3d flat = Polyline.At(around.AsSpan(side * 16, 17), t);
            return _target.Face(Math.Abs(flat.X) < 1e-9 ? 0 : flat.X, flat.Y);
        }
    }

    // A lip as a function of the fraction from the midline (0) to the corner (1).
    private static Vector3d Lip(int side, double t, Func<bool, double, Vector3d> at)
    {
        double quads = MouthQuads.Take(side).Sum() + (t * MouthQuads[side]);
        double all = MouthQuads.Sum(), half = all / 2;
        bool upper = quads > half;
        Vector3d p = at(upper, upper ? (all - quads) / half : quads / half);
        return quads == 0 || quads == all ? p with { X = 0 } : p;
    }

    // Towards the corner the border of the mean bends back on itself; there an arc takes its place, a little outside
    // the contact line's end.
    private Vector3d Border(bool upper, double fraction)
    {
        const double ArcFrom = 0.65, Bulge = 0.012, Outside = 0.012;
        Vector3d[] border = upper ? _guides.LipUpperBorder : _guides.LipLowerBorder;
        double t = (fraction - ArcFrom) / (1 - ArcFrom);
        if (t <= 0)
        {
            return Polyline.At(border, fraction);
        }

        Vector3d p = Vector3d.Lerp(Polyline.At(border, ArcFrom), _guides.Cheilion + new Vector3d(Outside, 0, 0), t);
        return _target.Face(p.X, p.Y + ((upper ? Bulge : -Bulge) * 4 * t * (1 - t)));
    }

    // The lips touch: the mean's narrow gap is closed to a hair.
    private Vector3d Contact(bool upper, double fraction)
    {
        const double HalfGap = 0.0005;
        Vector3d a = Polyline.At(_guides.LipUpperContact, fraction), b = Polyline.At(_guides.LipLowerContact, fraction);
        double gap = fraction < 1 ? HalfGap : 0;
        return ((a + b) * 0.5) + new Vector3d(0, upper ? gap : -gap, 0);
    }

    // Lips meet along a strip, not an edge: they stay closed where the surface is subdivided.
    private Vector3d Press(bool upper, double fraction) => Contact(upper, fraction) + new Vector3d(0.008 * fraction, 0, -0.020);

    private Vector3d InnerLip(bool upper, double fraction)
    {
        double fade = Math.Cos(fraction * Math.PI / 2);
        return Contact(upper, fraction) + new Vector3d(0.02 * fraction, (upper ? 0.035 : -0.035) * fade, -0.045);
    }

    // Rings of the bag: half ellipses round the dental arches, their sides further back than their front.
    private static Vector3d Bag(bool upper, double fraction, double halfWidth, double halfHeight, double front, double depth)
    {
        double angle = (upper ? fraction : 2 - fraction) * Math.PI / 2;
        double sine = Math.Sin(angle);
        double cosine = Math.Cos(angle);

        // The lower front stays clear of the fold under the lip.
        double clearance = 0.09 * Math.Max(0, -cosine);
        return new(halfWidth * sine, -1.11 + (halfHeight * cosine), front - (depth * sine * sine) - clearance);
    }
}
