using System.Numerics;
using AutoPlace.Landmarks;

namespace AutoPlace.TrainingData.Annotation;

/// <summary>How far behind the surface seen a landmark may lie and still count as visible.</summary>
internal static class VisibilityTolerance
{
    private const float OnSurface = 0.04f;
    private static readonly int EyeLeft = LandmarkNames.IndexOf("eye_centre_left");
    private static readonly int EyeRight = LandmarkNames.IndexOf("eye_centre_right");

    /// <summary>
    /// 0.04 interocular distances on the surface, more where decimation moved it. An eye centre counts as visible while
    /// no more than its ball, lid and lashes cover it: 1.45 times its distance from the canthi's chord.
    /// </summary>
    /// <param name="draft">The head, centimetres.</param>
    /// <param name="scale">Interocular distances for each centimetre.</param>
    public static float[] Of(HeadDraft draft, float scale)
    {
        var result = new float[draft.Landmarks.Length];
        Array.Fill(result, OnSurface + (draft.Coarseness * scale));
        result[EyeLeft] += 1.45f * Cover(draft, "left") * scale;
        result[EyeRight] += 1.45f * Cover(draft, "right") * scale;
        return result;
    }

    private static float Cover(HeadDraft draft, string side)
    {
        Vector3 lids = (draft.Landmark("lid_upper_medial_" + side) + draft.Landmark("lid_lower_lateral_" + side)) / 2;
        return Vector3.Distance(lids, draft.Landmark("eye_centre_" + side));
    }
}
