using AutoPlace.Geometry;
using AutoPlace.Template;

namespace AutoPlace.TemplateBuilder.Lattice;

internal static partial class BuiltInLattice
{
    private static void Lip(LatticeComposer c, MeanGuides g, HeadLoops loops)
    {
        c.Region = "lip";

        // The centre of the dental arch: lips slide round it.
        Vector3d arch = new(0, g.Incisor(upper: true).Y + 0.03, g.Molar(upper: true).Z);
        c.Inside("mouth_pivot", "skull_subnasal", arch, Ride.TeethUpper);
        c.Inside("mouth", "mouth_pivot", Vector3d.Lerp(loops.LipUpperContact[0], loops.LipLowerContact[0], 0.5) - new Vector3d(0, 0, 0.06), Ride.Inner, JointKind.RowParent);
        c.Inside("lip_upper", "mouth", loops.LipUpperContact[0] + new Vector3d(0, 0.05, -0.06), Ride.Inner, JointKind.RowParent);
        c.Inside("lip_lower", "jaw_hinge", loops.LipLowerContact[0] - new Vector3d(0, 0.05, 0.06), Ride.Inner, JointKind.RowParent);
        c.Inside("commissure_left", "mouth", loops.LipUpperContact[^1] - new Vector3d(0.02, 0, 0.05), Ride.Inner, JointKind.RowParent);

        // Inside the corner, half a lip's thickness deep: outside it the skin would stretch the wrong way.
        c.Surface("lip_corner_left", "commissure_left", loops.LipUpperContact[^1], FoldLift, inFold: true);
        LipRows(c, "upper", "labiale_superius", loops.LipUpperBorder, loops.LipUpperContact);
        LipRows(c, "lower", "labiale_inferius", loops.LipLowerBorder, loops.LipLowerContact);
    }

    private static void LipRows(LatticeComposer c, string lip, string middle, Vector3d[] border, Vector3d[] contact)
    {
        string parent = $"lip_{lip}";
        c.Surface(middle, parent, border[0], FeatureLift);
        c.Surface($"lip_{lip}_contact", parent, contact[0], FoldLift, inFold: true);
        for (int k = 1; k <= 3; k++)
        {
            c.Surface($"lip_{lip}_border_{k}_left", parent, HeadLoops.At(border, k / 4.0), FeatureLift);
            c.Surface($"lip_{lip}_contact_{k}_left", parent, HeadLoops.At(contact, k / 4.0), FoldLift, inFold: true);
        }

        c.Row($"lip_{lip}_border", [middle, .. Numbered($"lip_{lip}_border_{{0}}_left", 3), "lip_corner_left"]);
        c.Row($"lip_{lip}_contact", [$"lip_{lip}_contact", .. Numbered($"lip_{lip}_contact_{{0}}_left", 3), "lip_corner_left"]);
    }

    private static void Perioral(LatticeComposer c, MeanGuides g, HeadLoops loops)
    {
        c.Region = "perioral";
        c.Surface("nasolabial_1_left", "skull_subnasal", loops.Nasolabial[1], FeatureLift);
        c.Surface("nasolabial_2_left", "skull_subnasal", loops.Nasolabial[2], FeatureLift);
        c.Surface("nasolabial_3_left", "commissure_left", loops.Nasolabial[^1], FeatureLift);
        c.Surface("sublabiale", "jaw_hinge", g.Sublabiale, FeatureLift);
        c.Surface("mentolabial_1_left", "jaw_hinge", HeadLoops.At(loops.Mentolabial, 0.5), FeatureLift);
        c.Surface("mentolabial_2_left", "jaw_hinge", loops.Mentolabial[^1], FeatureLift);
        c.Row("mentolabial", ["sublabiale", .. Numbered("mentolabial_{0}_left", 2)]);
        c.Row("nasolabial_left", Numbered("nasolabial_{0}_left", 3));
    }

    private static void Cheek(LatticeComposer c, HeadLoops loops)
    {
        c.Region = "cheek";
        // Below the line from mouth corner to ear the flesh hangs on the jaw.
        AddRow("upper", loops.Cheek[0], [0.38, 0.58, 0.82], "skull_subnasal");
        AddRow("middle", loops.Cheek[1], [0.45, 0.70, 0.95], "skull_subnasal");
        AddRow("lower", loops.Cheek[2], [0.60, 0.90], "jaw_hinge");
        c.Surface("zygion_left", "skull_subnasal", new(1.15, -0.36, -0.45), BroadLift);

        void AddRow(string name, Vector3d[] line, double[] outward, string parent)
        {
            for (int k = 1; k <= outward.Length; k++)
            {
                Vector3d vertex = line.MinBy(p => Math.Abs(p.X - outward[k - 1]));
                c.Surface($"cheek_{name}_{k}_left", parent, vertex, BroadLift);
            }

            c.Row($"cheek_{name}_left", Numbered($"cheek_{name}_{{0}}_left", outward.Length));
        }
    }

    private static void Outline(LatticeComposer c, MeanGuides g)
    {
        c.Region = "outline";
        c.Surface("temple_left", "skull_orbital", new(1.08, 0.30, -0.32), BroadLift);
        c.Surface("preauricular_left", "skullbase", new(1.20, -0.42, -0.80), BroadLift);
        c.Surface("gonion_left", "jaw_hinge", g.Gonion, BroadLift);
        c.Surface("jaw_line_2_left", "jaw_hinge", g.JawLine(2), BroadLift);
        c.Surface("jaw_line_1_left", "jaw_hinge", g.JawLine(1), BroadLift);
        c.Surface("menton", "jaw_hinge", MeanGuides.Learned.Menton, BroadLift);
        c.Surface("mental_tubercle_left", "jaw_hinge", new(0.25, -1.76, 0.31), BroadLift);
        c.Surface("antegonial_notch_left", "jaw_hinge", Vector3d.Lerp(g.JawLine(2), g.Gonion, 0.5), BroadLift);
        c.Row("jaw_line", "menton", "mental_tubercle_left", "jaw_line_1_left", "jaw_line_2_left", "antegonial_notch_left", "gonion_left");
    }

    private static void Ear(LatticeComposer c)
    {
        c.Region = "ear";
        c.Inside("ear_base_left", "skullbase", new(1.14, -0.48, -1.16), Ride.Inner);
        c.Surface("ear_middle_left", "ear_base_left", new(1.36, -0.28, -1.28), FeatureLift);
        c.Surface("ear_top_left", "ear_middle_left", new(1.38, 0.00, -1.32), FeatureLift);
        c.Surface("ear_lobe_left", "ear_base_left", new(1.24, -0.82, -1.09), FeatureLift);
        c.Column("ear_left", "ear_top_left", "ear_middle_left", "ear_lobe_left");
    }

    private static void Tongue(LatticeComposer c)
    {
        // Along the back of the mean head's tongue, a tenth below its surface.
        c.Region = "tongue";
        c.Inside("tongue_root", "jaw_hinge", new(0, -1.24, -0.58), Ride.Tongue);
        c.Inside("tongue_body", "tongue_root", new(0, -1.16, -0.30), Ride.Tongue, policy: RotationPolicy.KeepLocal);
        c.Inside("tongue_blade", "tongue_body", new(0, -1.14, -0.02), Ride.Tongue, policy: RotationPolicy.KeepLocal);
        c.Inside("tongue_tip", "tongue_blade", new(0, -1.18, 0.18), Ride.Tongue, policy: RotationPolicy.KeepLocal);
        c.Column("tongue", "tongue_root", "tongue_body", "tongue_blade", "tongue_tip");
    }

    private static void Teeth(LatticeComposer c, MeanGuides g)
    {
        c.Region = "teeth";
        c.Inside("incisor_upper", "skull_subnasal", g.Incisor(upper: true), Ride.TeethUpper, JointKind.Other);
        c.Inside("molar_upper_left", "skull_subnasal", g.Molar(upper: true), Ride.TeethUpper, JointKind.Other);
        c.Inside("incisor_lower", "jaw_hinge", g.Incisor(upper: false), Ride.TeethLower, JointKind.Other);
        c.Inside("molar_lower_left", "jaw_hinge", g.Molar(upper: false), Ride.TeethLower, JointKind.Other);
        c.Row("teeth_upper", "incisor_upper", "molar_upper_left");
        c.Row("teeth_lower", "incisor_lower", "molar_lower_left");
    }

    private static void Attachment(LatticeComposer c, MeanGuides g)
    {
        c.Region = "attachment";
        const double CrownLift = 0.02;
        c.Surface("crown_front", "skull_orbital", new(0, 0.95, 0.42), CrownLift, kind: JointKind.Attachment);
        c.Surface("crown_side_left", "skull_orbital", new(1.25, 0.72, -0.95), CrownLift, kind: JointKind.Attachment);
        c.Surface("crown_back", "skull_orbital", new(0, 0.50, -2.60), CrownLift, kind: JointKind.Attachment);
        c.Ring("crown_line", "crown_front", "crown_side_left", "crown_back");
        c.Surface("eyewear_sellion", "skull_orbital", new(0, -0.06, 0.52), CrownLift / 2, kind: JointKind.Attachment);
        c.Surface("eyewear_ear_left", "skull_orbital", new(1.21, 0.03, -1.02), CrownLift / 2, kind: JointKind.Attachment);

        // Arm's length ahead of the eyes would leave the head's surroundings; three interocular distances don't.
        c.Inside("gaze_point", "skull_orbital", (g.EyeCentre with { X = 0 }) + new Vector3d(0, 0, 3), Ride.Eyes, JointKind.Attachment);
    }

    private static void Columns(LatticeComposer c)
    {
        c.Column("midline_upper", "metopion", "glabella", "sellion", "nose_bridge", "pronasale", "subnasale", "labiale_superius", "lip_upper_contact");
        c.Column("midline_lower", "lip_lower_contact", "labiale_inferius", "sublabiale", "pogonion", "menton", "submental", "throat");
        c.Column("orbit_1_left", "brow_2_left", "lid_upper_fold_1_left", "lid_upper_crease_1_left", "lid_upper_margin_1_left");
        c.Column("orbit_2_left", "brow_3_left", "lid_upper_fold_2_left", "lid_upper_crease_2_left", "lid_upper_margin_3_left");
        c.Column("orbit_3_left", "brow_4_left", "lid_upper_fold_3_left", "lid_upper_crease_3_left", "lid_upper_margin_5_left");
        c.Column("cheek_1_left", "lid_lower_margin_1_left", "lid_lower_crease_1_left", "cheek_upper_1_left", "cheek_middle_1_left");
        c.Column("cheek_2_left", "lid_lower_margin_3_left", "lid_lower_crease_2_left", "cheek_upper_2_left", "cheek_middle_2_left", "cheek_lower_1_left");
        c.Column("cheek_3_left", "lid_lower_margin_5_left", "lid_lower_crease_3_left", "cheek_upper_3_left", "cheek_middle_3_left", "cheek_lower_2_left");
        c.Column("outline_left", "temple_left", "preauricular_left", "gonion_left");
        for (int k = 1; k <= 3; k++)
        {
            c.Column($"lip_upper_{k}_left", $"lip_upper_border_{k}_left", $"lip_upper_contact_{k}_left");
            c.Column($"lip_lower_{k}_left", $"lip_lower_contact_{k}_left", $"lip_lower_border_{k}_left");
        }
    }
}
