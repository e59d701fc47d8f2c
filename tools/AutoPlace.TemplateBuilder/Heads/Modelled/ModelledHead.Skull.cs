using AutoPlace.Geometry;
using AutoPlace.TemplateBuilder.Lattice;

namespace AutoPlace.TemplateBuilder.Heads.Modelled;

internal sealed partial class ModelledHead
{
    private void FaceAndSkull()
    {
        Corners();
        Counts();
        Front();
        JawAndNeck();
        SideAndTop();
        Back();
    }

    private void Corners()
    {
        void Face(string name, double x, double y) => _layout.Corner(name, _target.Face(x, y));
        void Near(string name, double x, double y, double z) => _layout.Corner(name, _target.Near(x, y, z));

        // Midline, from the forehead down.
        Near("T2", 0, 1.75, -1.00);
        Face("T1", 0, 1.10);
        Face("F1", 0, 0.66);
        Face("G", 0, 0.27);
        Face("S", 0, 0.01);
        Face("N1", 0, -0.16);
        Face("N2", 0, -0.41);
        Face("Pg", 0, -1.585);
        _layout.Corner("Me", _guides.Menton);
        Near("Sm", 0, -1.95, -0.02);
        Near("Th", 0, -2.17, -0.42);
        Near("Nk", 0, -2.95, -0.60);

        // Round the eye: the brow as modelled, temple, upper cheek, back to the bridge of the nose.
        Face("mask_0", 0, 0.345);
        (double X, double Y)[] mask = [(0.245, 0.388), (0.57, 0.43), (0.865, 0.325), (1.02, -0.08), (0.85, -0.39), (0.53, -0.465), (0.25, -0.385)];
        for (int i = 0; i < mask.Length; i++)
        {
            _layout.Corner($"mask_{i + 1}", _target.Face(mask[i].X, mask[i].Y), pinned: i < 3);
        }

        Face("mask_8", 0, -0.285);
        Brow();

        // Forehead and temple.
        Face("Fm", 0.30, 0.68);
        Face("V1", 0.63, 0.66);
        Near("W1", 1.08, 0.40, -0.30);
        Near("B1", 0.35, 1.10, 0.30);
        Near("C1", 0.80, 1.05, -0.10);
        Near("X1", 1.22, 0.42, -0.88);

        // Cheek, three columns.
        Face("K1", 0.52, -0.60);
        Face("K2", 0.53, -0.80);
        Face("K3", 0.62, -1.08);
        Face("Q1", 0.86, -0.52);
        Face("Q2", 0.88, -0.88);
        Near("H1", 1.12, -0.32, -0.42);
        Near("H2", 1.13, -0.78, -0.62);

        // Chin, jaw line, under the jaw.
        Face("Ch1", 0.21, -1.58);
        Face("Ch2", 0.42, -1.52);
        Near("J1", 0.25, -1.745, 0.36);
        Near("J2", 0.52, -1.68, 0.08);
        Near("J3", 0.84, -1.38, -0.20);
        Near("Go", 1.03, -1.20, -0.72);
        Near("u1", 0.25, -1.92, -0.08);
        Near("u2", 0.58, -1.80, -0.35);

        // Neck.
        Near("n1", 0.26, -2.15, -0.45);
        Near("n2", 0.58, -2.05, -0.62);
        Near("n3", 0.90, -1.75, -0.95);
        Near("Y1", 1.07, -1.12, -1.02);
        Near("Y2", 1.05, -1.02, -1.40);
        Near("y1", 0.97, -1.68, -1.15);
        Near("y2", 0.98, -1.60, -1.48);
        Near("k1", 0.28, -2.94, -0.64);
        Near("k2", 0.58, -2.90, -0.80);
        Near("k3", 0.86, -2.82, -1.08);
        Near("ky1", 0.96, -2.78, -1.26);
        Near("ky2", 1.00, -2.72, -1.52);

        // Side and top of the skull.
        Near("X2", 1.26, 0.28, -1.52);
        Near("B2", 0.42, 1.68, -1.02);
        Near("C2", 0.95, 1.30, -1.20);
    }

    // The edge line under the brow's hairs runs through the brow's contour points.
    private void Brow()
    {
        const int Steps = 16;
        Vector3d[] brow = SmoothCurve.Open([_layout["mask_0"], .. Enumerable.Range(1, 5).Select(_guides.Brow), _layout["mask_4"]], Steps);
        (int From, int To)[] spans = [(0, Nearest("mask_1")), (Nearest("mask_1"), Nearest("mask_2")), (Nearest("mask_2"), Nearest("mask_3")), (Nearest("mask_3"), brow.Length - 1)];
        for (int i = 0; i < spans.Length; i++)
        {
            Vector3d[] span = [_layout[$"mask_{i}"], .. brow[(spans[i].From + 1)..spans[i].To], _layout[$"mask_{i + 1}"]];
            _layout.Curve($"mask_{i}", $"mask_{i + 1}", t => _target.Near(Polyline.At(span, t)));
        }

        int Nearest(string corner) => Enumerable.Range(0, brow.Length).MinBy(i => Vector3d.Distance(brow[i], _layout[corner]));
    }

    private void Counts()
    {
        (string A, string B, int Quads)[] counts =
        [
            ("N2", "A1", 4), ("G", "mask_0", 2), ("mask_0", "F1", 2), ("A1", "A2", 4), ("A2", "A3", 3), ("P", "Cm", 4),
            ("Me", "Pg", 3), ("Sm", "Th", 3), ("Th", "Nk", 4), ("W1", "X1", 3), ("X1", "X2", 5), ("X2", "D3", 3),
        ];
        foreach ((string a, string b, int quads) in counts)
        {
            _layout.Count(a, b, quads);
        }
    }

    private void Front()
    {
        Patch("G", "S", "orbit_M", "orbit_UM");
        Patch("S", "N1", "orbit_BM", "orbit_M");
        string[] inner = ["G", "orbit_UM", "orbit_U", "orbit_UL", "orbit_L", "orbit_LL", "orbit_B", "orbit_BM", "N1"];
        string[] outer = ["F1", "Fm", "V1", "W1", "H1", "Q1", "K1", "A1", "N2"];
        for (int i = 0; i + 1 < inner.Length; i++)
        {
            // Clockwise round the eye: over the brow, down the temple, along the cheek to the nose.
            Patch($"mask_{i}", inner[i], inner[i + 1], $"mask_{i + 1}");
            Patch(outer[i], $"mask_{i}", $"mask_{i + 1}", outer[i + 1]);
        }

        Patch("A1", "A2", "K2", "K1");
        Patch("A2", "A3", "K3", "K2");
        Patch("A3", "mouth_U2", "mouth_Mc", "K3");
        Patch("mouth_Mc", "mouth_L2", "Ch2", "K3");
        Patch("mouth_L2", "mouth_L1", "Ch1", "Ch2");
        Patch("mouth_L1", "mouth_L0", "Pg", "Ch1");
        Patch("K1", "K2", "Q2", "Q1");
        Patch("K2", "K3", "J3", "Q2");
        Patch("Q1", "Q2", "H2", "H1");
    }

    private void JawAndNeck()
    {
        Patch("K3", "Ch2", "J2", "J3");
        Patch("Ch2", "Ch1", "J1", "J2");
        Patch("Ch1", "Pg", "Me", "J1");
        Patch("Q2", "J3", "Go", "H2");
        Patch("J3", "J2", "u2", "Go");
        Patch("J2", "J1", "u1", "u2");
        Patch("J1", "Me", "Sm", "u1");
        Patch("u1", "Sm", "Th", "n1");
        Patch("u2", "u1", "n1", "n2");
        Patch("Go", "u2", "n2", "n3");
        Patch("Y1", "Go", "n3", "y1");
        Patch("Y2", "Y1", "y1", "y2");
        Patch("n1", "Th", "Nk", "k1");
        Patch("n2", "n1", "k1", "k2");
        Patch("n3", "n2", "k2", "k3");
        Patch("y1", "n3", "k3", "ky1");
        Patch("y2", "y1", "ky1", "ky2");
    }

    private void SideAndTop()
    {
        Patch("W1", "H1", "ear0_ft", "X1");
        Patch("H1", "H2", "ear0_fb", "ear0_ft");
        Patch("H2", "Go", "Y1", "ear0_fb");
        Patch("X1", "ear0_ft", "ear0_bt", "X2");
        Patch("ear0_fb", "Y1", "Y2", "ear0_bb");
        Patch("T1", "F1", "Fm", "B1");
        Patch("B1", "Fm", "V1", "C1");
        Patch("C1", "V1", "W1", "X1");
        Patch("T2", "T1", "B1", "B2");
        Patch("B2", "B1", "C1", "C2");
        Patch("C2", "C1", "X1", "X2");
    }

    // Nine columns from the midline to behind the ear, sixteen rows from the crown to the neck.
    private void Back()
    {
        (double Y, double Z)[] middle = [(1.45, -2.10), (0.60, -2.75), (-0.45, -2.62), (-0.95, -2.35), (-1.60, -2.05), (-2.55, -2.20)];
        (double X, double Y, double Z)[] lateral = [(1.12, 0.42, -2.05), (1.08, -0.15, -1.98), (1.03, -0.62, -1.80), (0.99, -1.02, -1.76), (0.93, -1.58, -1.78), (0.96, -2.66, -1.84)];
        for (int row = 0; row < middle.Length; row++)
        {
            for (int column = 0; column <= 3; column++)
            {
                // A quarter of an ellipse from the midline to the side.
                double angle = column * Math.PI / 6;
                double share = Math.Sin(angle);
                double y = middle[row].Y + ((lateral[row].Y - middle[row].Y) * (1 - Math.Cos(angle)));
                double z = lateral[row].Z + ((middle[row].Z - lateral[row].Z) * Math.Cos(angle));
                _layout.Corner(Name(row, column), _target.Near(column == 0 ? 0 : lateral[row].X * share, y, z));
            }
        }

        for (int row = 0; row + 1 < middle.Length; row++)
        {
            for (int column = 0; column < 3; column++)
            {
                Patch(Name(row, column), Name(row, column + 1), Name(row + 1, column + 1), Name(row + 1, column));
            }
        }

        Patch("D0", "T2", "B2", "D1");
        Patch("D1", "B2", "C2", "D2");
        Patch("D2", "C2", "X2", "D3");
        Patch("X2", "ear0_bt", "Z1", "D3");
        Patch("ear0_bt", "ear0_bb", "Z2", "Z1");
        Patch("ear0_bb", "Y2", "Z3", "Z2");
        Patch("Z3", "Y2", "y2", "Z4");
        Patch("Z4", "y2", "ky2", "Z5");

        // The outermost column meets the side of the head.
        static string Name(int row, int column) => row == 0 ? $"D{column}" : column == 3 ? $"Z{row}" : $"P{row}{column}";
    }

    // A patch of skin between four corners.
    private void Patch(string a, string b, string c, string d) => _layout.Patch(Skin, a, b, c, d);
}
