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
    /// no more than its ball and lids cover it: 1.45 times its distance from the lid margins, or 1.2 times that from the
    /// front of an eye made as a separate piece.
    /// </summary>
    /// <param name="draft">The head, centimetres.</param>
    /// <param name="scale">Interocular distances for each centimetre.</param>
    public static float[] Of(HeadDraft draft, float scale)
    {
        var result = new float[draft.Landmarks.Length];
        Array.Fill(result, OnSurface + (draft.Coarseness * scale));
        result[EyeLeft] += Cover(draft, "left", draft.EyeFront[0]) * scale;
        result[EyeRight] += Cover(draft, "right", draft.EyeFront[1]) * scale;
        return result;
    }

    private static float Cover(HeadDraft draft, string side, float front)
    {
        if (front > 0)
        {
            return 1.2f * front;
        }

        Vector3 lids = (draft.Landmark("lid_upper_medial_" + side) + draft.Landmark("lid_lower_lateral_" + side)) / 2;
        return 1.45f * Vector3.Distance(lids, draft.Landmark("eye_centre_" + side));
    }
}
