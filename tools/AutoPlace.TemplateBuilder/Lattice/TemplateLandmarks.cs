using AutoPlace.Geometry;
using AutoPlace.Landmarks;

namespace AutoPlace.TemplateBuilder.Lattice;

/// <summary>The landmarks of the mean head by name, atlas coordinates.</summary>
internal static class TemplateLandmarks
{
    /// <summary>All landmarks, in the order of <see cref="LandmarkNames.All"/>.</summary>
    /// <param name="g">Where the features lie on the mean.</param>
    /// <param name="onSkin">Nearest point of the reference head's skin, which all but the eye centres are laid on.</param>
    public static Dictionary<string, Vector3d> Build(MeanGuides g, Func<Vector3d, Vector3d> onSkin)
    {
        var left = new Dictionary<string, Vector3d>(StringComparer.Ordinal)
        {
            ["eye_centre_left"] = g.EyeCentre,
            ["exocanthion_left"] = g.Exocanthion,
            ["endocanthion_left"] = g.Endocanthion,
            ["alare_left"] = MeanGuides.Learned.Alare,
            ["cheilion_left"] = g.Cheilion,
            ["tragion_left"] = MeanGuides.Learned.Tragion,
            ["nasion"] = MeanGuides.Learned.Nasion,
            ["pronasale"] = MeanGuides.Learned.Pronasale,
            ["subnasale"] = g.Subnasale,
            ["stomion"] = (g.LipUpperContact[0] + g.LipLowerContact[0]) * 0.5,
            ["pogonion"] = MeanGuides.Learned.Pogonion,
            ["menton"] = MeanGuides.Learned.Menton,
            ["lid_upper_medial_left"] = g.LidPoints.UpperMedial,
            ["lid_upper_lateral_left"] = g.LidPoints.UpperLateral,
            ["lid_lower_medial_left"] = g.LidPoints.LowerMedial,
            ["lid_lower_lateral_left"] = g.LidPoints.LowerLateral,
            ["brow_1_left"] = g.Brow(1),
            ["brow_2_left"] = g.Brow(2),
            ["brow_3_left"] = g.Brow(3),
            ["brow_4_left"] = g.Brow(4),
            ["brow_5_left"] = g.Brow(5),
            ["nose_bridge"] = g.NoseBridge,
            ["nostril_left"] = g.Nostril,
            ["labiale_superius"] = g.LipUpperBorder[0],
            ["labiale_inferius"] = g.LipLowerBorder[0],
            ["crista_philtri_left"] = g.LipPoints.CristaPhiltri,
            ["lip_upper_lateral_left"] = g.LipPoints.UpperLateral,
            ["lip_lower_lateral_left"] = g.LipPoints.LowerLateral,
            ["lip_lower_medial_left"] = g.LipPoints.LowerMedial,
            ["lip_contact_upper"] = g.LipUpperContact[0],
            ["lip_contact_upper_left"] = g.LipPoints.UpperContact,
            ["lip_contact_lower"] = g.LipLowerContact[0],
            ["lip_contact_lower_left"] = g.LipPoints.LowerContact,
            ["glabella"] = g.Glabella,
            ["sublabiale"] = g.Sublabiale,
            ["jaw_line_1_left"] = g.JawLine(1),
            ["jaw_line_2_left"] = g.JawLine(2),
            ["gonion_left"] = g.Gonion,
        };
        var all = new Dictionary<string, Vector3d>(StringComparer.Ordinal);
        foreach (string name in LandmarkNames.All)
        {
            string mirrored = LandmarkNames.Mirror(name);
            bool isLeft = left.TryGetValue(name, out Vector3d point);
            if (isLeft || left.TryGetValue(mirrored, out point))
            {
                Vector3d placed = Rounded(name.StartsWith("eye_centre", StringComparison.Ordinal) ? point : onSkin(point));
                all.Add(name, placed with { X = mirrored == name ? 0 : isLeft ? placed.X : -placed.X });
            }
        }

        return all;
    }

    private static Vector3d Rounded(Vector3d p) => new(Math.Round(p.X, 6), Math.Round(p.Y, 6), Math.Round(p.Z, 6));
}
