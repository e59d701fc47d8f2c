namespace AutoPlace.Landmarks;

/// <summary>
/// The landmarks that the network finds, in the order of its channels. Left and right are the subject's own.
/// Abbreviations in brackets are those of anthropometry (en, ex, …).
/// </summary>
public static class LandmarkNames
{
    /// <summary>All names, in the order of the network's channels.</summary>
    public static IReadOnlyList<string> All { get; } =
    [
        "eye_centre_left", "eye_centre_right", // inside the ball
        "exocanthion_left", "exocanthion_right", // ex
        "endocanthion_left", "endocanthion_right", // en
        "alare_left", "alare_right", // al
        "cheilion_left", "cheilion_right", // ch
        "tragion_left", "tragion_right", // t
        "nasion", "pronasale", "subnasale", "stomion", "pogonion", "menton", // n, prn, sn, sto, pg, me
        "lid_upper_medial_left", "lid_upper_medial_right",
        "lid_upper_lateral_left", "lid_upper_lateral_right",
        "lid_lower_medial_left", "lid_lower_medial_right",
        "lid_lower_lateral_left", "lid_lower_lateral_right",
        "brow_1_left", "brow_1_right", // numbered outward from the midline
        "brow_2_left", "brow_2_right",
        "brow_3_left", "brow_3_right",
        "brow_4_left", "brow_4_right",
        "brow_5_left", "brow_5_right",
        "nose_bridge", "nostril_left", "nostril_right",
        "labiale_superius", "labiale_inferius", // ls, li
        "crista_philtri_left", "crista_philtri_right", // cph
        "lip_upper_lateral_left", "lip_upper_lateral_right",
        "lip_lower_lateral_left", "lip_lower_lateral_right",
        "lip_lower_medial_left", "lip_lower_medial_right",
        "lip_contact_upper", "lip_contact_upper_left", "lip_contact_upper_right",
        "lip_contact_lower", "lip_contact_lower_left", "lip_contact_lower_right",
        "glabella", "sublabiale", // g, sl
        "jaw_line_1_left", "jaw_line_1_right", // from the chin outward
        "jaw_line_2_left", "jaw_line_2_right",
        "gonion_left", "gonion_right", // go
    ];

    /// <summary>The six that a placement can't do without: eye centres, nose base, mouth corners, and the chin (pogonion or menton).</summary>
    public static IReadOnlyList<string> Required { get; } =
        ["eye_centre_left", "eye_centre_right", "subnasale", "cheilion_left", "cheilion_right", "menton"];

    /// <summary>Position of a name in <see cref="All"/>, or -1.</summary>
    public static int IndexOf(string name)
    {
        for (int i = 0; i < All.Count; i++)
        {
            if (string.Equals(All[i], name, StringComparison.Ordinal))
            {
                return i;
            }
        }

        return -1;
    }

    /// <summary>The name on the other side; a midline name is its own mirror image.</summary>
    public static string Mirror(string name)
    {
        ArgumentNullException.ThrowIfNull(name);
        return name.EndsWith("_left", StringComparison.Ordinal) ? string.Concat(name.AsSpan(0, name.Length - 5), "_right")
            : name.EndsWith("_right", StringComparison.Ordinal) ? string.Concat(name.AsSpan(0, name.Length - 6), "_left")
            : name;
    }
}
