using AutoPlace.Geometry;
using AutoPlace.Template;
using AutoPlace.TemplateBuilder.Sources;

namespace AutoPlace.TemplateBuilder.Lattice;

/// <summary>
/// The rules of the built-in lattice, region by region: midline and left side; the composer mirrors. Points given as
/// plain numbers are atlas coordinates set by eye on the mean head; the nearest point of the skin is taken.
/// </summary>
internal static partial class BuiltInLattice
{
    // Lifts in interocular distances (1 % of the mean one is 0.6 mm): high on broad flesh, low where features are
    // small, next to nothing in folds.
    private const double BroadLift = 0.012;
    private const double FeatureLift = 0.006;
    private const double FoldLift = 0.003;

    /// <summary>Builds the lattice on a skin.</summary>
    /// <param name="guides">Where the features lie.</param>
    /// <param name="landmarks">Landmarks of the reference head.</param>
    /// <param name="loops">Edge lines of the reference head.</param>
    /// <param name="skin">Nearest point of the reference head's skin.</param>
    public static JointLattice Build(
        MeanGuides guides, IReadOnlyDictionary<string, Vector3d> landmarks, HeadLoops loops, Func<Vector3d, SkinContact> skin)
    {
        var c = new LatticeComposer(skin);
        Skull(c);
        Jaw(c, guides, landmarks);
        Eye(c, guides);
        Eyelid(c, guides, loops);
        Brow(c, guides, loops);
        Nose(c, guides);
        Lip(c, guides, loops);
        Perioral(c, guides, loops);
        Cheek(c, loops);
        Outline(c, guides);
        Ear(c);
        Tongue(c);
        Teeth(c, guides);
        Attachment(c, guides);
        Columns(c);
        return c.Compose();
    }

    /// <summary>Joints of the reduced level: a subset for crowds.</summary>
    public static IReadOnlyList<string> Reduced { get; } = ReducedNames();

    private static string[] ReducedNames()
    {
        string[] middle =
        [
            "skullbase", "jaw_hinge", "vertex", "glabella", "pronasale", "subnasale", "labiale_superius", "labiale_inferius",
            "lip_upper_contact", "lip_lower_contact", "pogonion", "menton", "incisor_upper", "incisor_lower", "tongue_root", "tongue_tip",
        ];
        string[] left =
        [
            "eye_centre", "lid_upper", "lid_lower", "lid_upper_margin_3", "lid_lower_margin_3", "brow_1", "brow_3", "brow_5",
            "alare", "lip_corner", "lip_upper_border_2", "lip_lower_border_2", "nasolabial_2", "cheek_upper_2", "cheek_middle_2",
        ];
        return [.. middle, .. left.SelectMany(name => new[] { name + "_left", name + "_right" })];
    }

    private static void Skull(LatticeComposer c)
    {
        c.Region = "skull";
        c.Inside("skullbase", null, new(0, -0.62, -1.22), Ride.JawHinge); // at the height of the ear canals, which carry the hinge too
        c.Inside("skull_orbital", "skullbase", new(0, 0, -0.70), Ride.Inner);
        c.Inside("skull_subnasal", "skullbase", new(0, -0.76, -0.45), Ride.Inner);
        c.Surface("vertex", "skull_orbital", new(0, 1.8, -1.0), BroadLift);
        c.Surface("throat", "skullbase", new(0, -2.10, -0.35), BroadLift);
    }

    private static void Jaw(LatticeComposer c, MeanGuides g, IReadOnlyDictionary<string, Vector3d> landmarks)
    {
        c.Region = "jaw";
        JawHinge hinge = JawHingeRule.Apply(
            landmarks["tragion_left"], landmarks["tragion_right"], landmarks["exocanthion_left"], landmarks["exocanthion_right"]);
        c.Inside("jaw_hinge", "skullbase", hinge.Centre, Ride.JawHinge);
        c.Inside("condyle_left", "jaw_hinge", hinge.CondyleLeft, Ride.JawHinge);

        // Both lie behind the skin in the plane of the incisors' roots; the lower one moves with the jaw (FACS 27).
        c.Inside("lower_face_subnasale", "skull_subnasal", g.Subnasale - new Vector3d(0, 0, 0.12), Ride.Inner);
        c.Inside("lower_face_menton", "jaw_hinge", g.Menton + new Vector3d(0, 0.10, -0.12), Ride.Inner);
        c.Inside("chin_end", "jaw_hinge", g.Pogonion - new Vector3d(0, 0.02, 0.14), Ride.Inner, JointKind.Other);
        c.Surface("pogonion", "jaw_hinge", MeanGuides.Learned.Pogonion, BroadLift);
        c.Surface("submental", "jaw_hinge", new(0, -1.92, -0.02), BroadLift);
    }

    private static void Eye(LatticeComposer c, MeanGuides g)
    {
        c.Region = "eye";
        c.Inside("eye_centre_left", "skull_orbital", g.EyeCentre, Ride.EyeballLeft);
        c.Inside("gaze_left", "eye_centre_left", g.EyeCentre + new Vector3d(0, 0, 0.22), Ride.EyeballLeft, JointKind.Other, RotationPolicy.KeepLocal);
    }

    private static void Eyelid(LatticeComposer c, MeanGuides g, HeadLoops loops)
    {
        c.Region = "eyelid";
        c.Inside("lid_upper_left", "skull_orbital", g.EyeCentre, Ride.EyeballLeft, JointKind.RowParent);
        c.Inside("lid_lower_left", "skull_orbital", g.EyeCentre, Ride.EyeballLeft, JointKind.RowParent);
        c.Surface("endocanthion_left", "skull_orbital", g.Endocanthion, FoldLift, inFold: true);
        c.Surface("exocanthion_left", "skull_orbital", g.Exocanthion, FoldLift, inFold: true);
        for (int k = 1; k <= 5; k++)
        {
            c.Surface($"lid_upper_margin_{k}_left", "lid_upper_left", HeadLoops.At(loops.LidUpperMargin, k / 6.0), FoldLift, inFold: true);
            c.Surface($"lid_lower_margin_{k}_left", "lid_lower_left", HeadLoops.At(loops.LidLowerMargin, k / 6.0), FoldLift, inFold: true);
        }

        for (int k = 1; k <= 3; k++)
        {
            // The closing line lies on the ball, where both margins meet: a third of the way up from the lower one. It follows
            // the lids: riding on the ball it would keep the template's eye and leave that of another shape at the canthi.
            Vector3d low = Polyline.At(g.LidLower, k / 4.0), high = Polyline.At(g.LidUpper, k / 4.0);
            Vector3d meeting = Vector3d.Lerp(low, high, 1.0 / 3) - g.EyeCentre;
            double radius = ((low - g.EyeCentre).Length + (high - g.EyeCentre).Length) / 2;
            c.Inside($"lid_closing_{k}_left", "skull_orbital", g.EyeCentre + (meeting.Normalized() * radius), Ride.Inner, JointKind.Other);
            c.Surface($"lid_upper_crease_{k}_left", "lid_upper_left", HeadLoops.At(loops.LidUpperCrease, k / 4.0), FoldLift, inFold: true);
            c.Surface($"lid_upper_fold_{k}_left", "skull_orbital", HeadLoops.At(loops.LidUpperFold, k / 4.0), FeatureLift);
            c.Surface($"lid_lower_crease_{k}_left", "lid_lower_left", HeadLoops.At(loops.LidLowerCrease, k / 4.0), FoldLift, inFold: true);
        }

        c.Row("lid_upper_margin_left", ["endocanthion_left", .. Numbered("lid_upper_margin_{0}_left", 5), "exocanthion_left"]);
        c.Row("lid_lower_margin_left", ["endocanthion_left", .. Numbered("lid_lower_margin_{0}_left", 5), "exocanthion_left"]);
        c.Row("lid_closing_left", ["endocanthion_left", .. Numbered("lid_closing_{0}_left", 3), "exocanthion_left"]);
        c.Row("lid_upper_crease_left", Numbered("lid_upper_crease_{0}_left", 3));
        c.Row("lid_upper_fold_left", Numbered("lid_upper_fold_{0}_left", 3));
        c.Row("lid_lower_crease_left", Numbered("lid_lower_crease_{0}_left", 3));
    }

    private static void Brow(LatticeComposer c, MeanGuides g, HeadLoops loops)
    {
        c.Region = "brow";
        c.Inside("brow_left", "skull_orbital", g.Brow(3) - new Vector3d(0, 0, 0.06), Ride.Inner, JointKind.RowParent);
        c.Surface("glabella", "skull_orbital", g.Glabella, FeatureLift);
        c.Surface("metopion", "skull_orbital", loops.Forehead[0], BroadLift);
        for (int k = 1; k <= 5; k++)
        {
            c.Surface($"brow_{k}_left", "brow_left", HeadLoops.Foot(loops.Brow, g.Brow(k)), FeatureLift);
        }

        c.Surface("forehead_1_left", "skull_orbital", HeadLoops.Nearest(loops.Forehead, new(0.39, 0.68, 0.38)), BroadLift);
        c.Surface("forehead_2_left", "skull_orbital", HeadLoops.Nearest(loops.Forehead, new(0.78, 0.63, 0.10)), BroadLift);
        c.Row("brow", ["glabella", .. Numbered("brow_{0}_left", 5)]);
        c.Row("forehead", ["metopion", .. Numbered("forehead_{0}_left", 2)]);
    }

    private static void Nose(LatticeComposer c, MeanGuides g)
    {
        c.Region = "nose";
        c.Surface("sellion", "skull_orbital", g.Nasion, FeatureLift);
        c.Surface("nose_bridge", "skull_subnasal", g.NoseBridge, FeatureLift);
        c.Surface("pronasale", "skull_subnasal", MeanGuides.Learned.Pronasale, FeatureLift);
        c.Surface("subnasale", "skull_subnasal", g.Subnasale, FeatureLift);
        c.Surface("nose_side_left", "skull_subnasal", new(0.19, -0.30, 0.42), FeatureLift);
        c.Surface("alare_left", "skull_subnasal", MeanGuides.Learned.Alare, FeatureLift);
        c.Surface("nostril_left", "skull_subnasal", g.Nostril, FoldLift, inFold: true);
        c.Row("nose_side", "nose_bridge", "nose_side_left");
        c.Row("nose_base", "subnasale", "nostril_left", "alare_left");
    }

    private static string[] Numbered(string pattern, int count) =>
        [.. Enumerable.Range(1, count).Select(k => string.Format(System.Globalization.CultureInfo.InvariantCulture, pattern, k))];
}
