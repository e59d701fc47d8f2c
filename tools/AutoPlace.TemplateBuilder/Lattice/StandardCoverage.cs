namespace AutoPlace.TemplateBuilder.Lattice;

/// <summary>
/// Which joints of the built-in lattice serve each action unit of the Facial Action Coding System (muscles and regions
/// after the open table in PMC7264164) and each face joint of H-Anim (ISO/IEC 19774-1:2019).
/// </summary>
internal static class StandardCoverage
{
    /// <summary>Unit to joints.</summary>
    public static IReadOnlyDictionary<string, IReadOnlyList<string>> Table { get; } = Build();

    private static Dictionary<string, IReadOnlyList<string>> Build()
    {
        var table = new Dictionary<string, IReadOnlyList<string>>(StringComparer.Ordinal);
        Both("FACS 1", "brow_1");
        Both("FACS 2", "brow_4", "brow_5");
        Both("FACS 4", "brow_1", "brow_2", "brow");
        Both("FACS 5", "lid_upper");
        Both("FACS 6", "cheek_upper_1", "cheek_upper_2", "cheek_upper_3");
        Both("FACS 7", "lid_lower", "lid_lower_crease_2");
        Both("FACS 9", "nose_side", "alare");
        Both("FACS 10", "lip_upper_border_1", "lip_upper_border_2", "nasolabial_1");
        Both("FACS 11", "nasolabial_2");
        Both("FACS 12", "commissure", "cheek_middle_1");
        Both("FACS 13", "lip_corner", "cheek_middle_2");
        Both("FACS 14", "commissure", "nasolabial_3");
        Both("FACS 15", "commissure", "mentolabial_2");
        Both("FACS 16", "lip_lower_border_1", "lip_lower_border_2");
        table.Add("FACS 17", ["pogonion", "sublabiale", "lip_lower"]);
        table.Add("FACS 18", ["mouth", "lip_upper", "lip_lower", "commissure_left", "commissure_right"]);
        Both("FACS 20", "commissure", "nasolabial_3");
        table.Add("FACS 22", ["lip_upper", "lip_lower", "lip_upper_border_1_left", "lip_upper_border_1_right", "lip_lower_border_1_left", "lip_lower_border_1_right"]);
        table.Add("FACS 23", ["lip_upper", "lip_lower", "lip_upper_contact", "lip_lower_contact"]);
        table.Add("FACS 24", ["lip_upper", "lip_lower", "lip_upper_contact", "lip_lower_contact"]);
        table.Add("FACS 25", ["lip_upper", "lip_lower"]);
        table.Add("FACS 26", ["jaw_hinge"]);
        table.Add("FACS 27", ["jaw_hinge", "lower_face_subnasale", "lower_face_menton"]);
        table.Add("FACS 28", ["lip_upper", "lip_lower", "labiale_superius", "labiale_inferius"]);
        Both("FACS 41", "lid_upper");
        Both("FACS 42", "lid_upper");
        Both("FACS 43", "lid_upper", "lid_closing_2");
        Both("FACS 44", "lid_upper", "lid_lower");
        Both("FACS 45", "lid_upper", "lid_closing_2");
        Both("FACS 46", "lid_upper", "lid_lower");
        table.Add("H-Anim skullbase", ["skullbase"]);
        table.Add("H-Anim temporomandibular", ["jaw_hinge", "condyle_left", "condyle_right"]);
        foreach ((string prefix, string side) in new[] { ("l", "left"), ("r", "right") })
        {
            table.Add($"H-Anim {prefix}_eyelid_joint", [$"lid_upper_{side}"]);
            table.Add($"H-Anim {prefix}_eyeball_joint", [$"eye_centre_{side}"]);
            table.Add($"H-Anim {prefix}_eyebrow_joint", [$"brow_{side}"]);
        }

        return table;

        void Both(string unit, params string[] names) =>
            table.Add(unit, [.. names.SelectMany(name => new[] { name + "_left", name + "_right" })]);
    }
}
