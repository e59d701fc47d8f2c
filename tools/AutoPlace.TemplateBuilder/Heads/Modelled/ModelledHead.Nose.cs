using AutoPlace.Geometry;
using AutoPlace.TemplateBuilder.Lattice;

namespace AutoPlace.TemplateBuilder.Heads.Modelled;

internal sealed partial class ModelledHead
{
    /// <summary>Corners of the left nostril, counter-clockwise seen from below: lateral, front, medial, rear.</summary>
    private static readonly string[] NostrilKeys = ["2", "1", "4", "3"];
    private static readonly int[] NostrilQuads = [4, 4, 3, 3];

    private void Nose()
    {
        // The rim, set by eye on the mean seen from below; guides along each side.
        Vector3d[][] rim =
        [
            [new(0.213, -0.657, 0.544), new(0.202, -0.636, 0.592), new(0.171, -0.626, 0.650), new(0.136, -0.630, 0.687), new(0.104, -0.645, 0.697)],
            [new(0.104, -0.645, 0.697), new(0.069, -0.670, 0.672), new(0.060, -0.693, 0.624), new(0.075, -0.725, 0.598)],
            [new(0.075, -0.725, 0.598), new(0.115, -0.730, 0.565), new(0.155, -0.710, 0.525), new(0.186, -0.690, 0.500)],
            [new(0.186, -0.690, 0.500), new(0.206, -0.681, 0.512), new(0.213, -0.657, 0.544)],
        ];
        Vector3d middle = new(0.135, -0.675, 0.59);
        Ring("rim_", NostrilKeys, NostrilQuads, closed: true, (side, t) => _target.Near(Polyline.At(rim[side], t)), pinned: true);
        Ring("nostril1_", NostrilKeys, NostrilQuads, closed: true, (side, t) => Inward(Polyline.At(rim[side], t), 0.15, new(-0.004, 0.03, -0.01)), pinned: true);
        Ring("nostril2_", NostrilKeys, NostrilQuads, closed: true, (side, t) => Inward(Polyline.At(rim[side], t), 0.45, new(-0.02, 0.09, -0.05)), pinned: true);
        _layout.Rings(Hidden, "rim_", "nostril1_", NostrilKeys, closed: true, radial: 1);
        _layout.Rings(Hidden, "nostril1_", "nostril2_", NostrilKeys, closed: true, radial: 2);

        // The crease behind the wing of the nose, from the side of the nose to the lip.
        Vector3d[] crease = SmoothCurve.Open([new(0.205, -0.52, 0.50), new(0.275, -0.555, 0.43), new(0.318, -0.635, 0.405), new(0.305, -0.72, 0.405), new(0.225, -0.770, 0.450)], 8);
        Crease("A1", "A2", 0, 24);
        Crease("A2", "A3", 24, 32);
        // From the front of the nostril over the wing's dome to the side of the nose.
        Vector3d[] dome = [rim[0][^1], new(0.128, -0.585, 0.715), new(0.185, -0.535, 0.605), crease[0]];
        _layout.Curve("rim_1", "A1", t => _target.Near(Polyline.At(dome, t)));
        _layout.Corner("A1", _target.Near(crease[0]), pinned: true);
        _layout.Corner("A2", _target.Near(crease[24]), pinned: true);
        _layout.Corner("A3", _target.Near(crease[32]), pinned: true);
        _layout.Corner("P", _guides.Pronasale, pinned: true);
        _layout.Corner("Cm", _target.Near(0, -0.735, 0.62));
        _layout.Corner("Sn", _guides.Subnasale, pinned: true);
        _layout.Corner("Nb", _target.Near(0.10, -0.772, 0.545));

        _layout.Patch(Skin, "N2", "P", "rim_1", "A1");
        _layout.Patch(Skin, "A1", "rim_1", "rim_2", "A2");
        _layout.Patch(Skin, "A2", "rim_2", "rim_3", "A3");
        _layout.Patch(Skin, "rim_3", "rim_4", "Nb", "A3");
        _layout.Patch(Skin, "rim_4", "Cm", "Sn", "Nb");
        _layout.Patch(Skin, "P", "Cm", "rim_4", "rim_1");
        _layout.Patch(Skin, "Nb", "Sn", "mouth_U0", "mouth_U1");
        _layout.Patch(Skin, "A3", "Nb", "mouth_U1", "mouth_U2");
        _layout.Count("N2", "P", 3);
        _layout.Count("Sn", "mouth_U0", 2);

        Vector3d Inward(Vector3d p, double share, Vector3d shift) => Vector3d.Lerp(p, middle, share) + shift;

        void Crease(string a, string b, int from, int to) =>
            _layout.Curve(a, b, t => _target.Near(Polyline.At(crease.AsSpan(from, to - from + 1), t)));
    }
}
