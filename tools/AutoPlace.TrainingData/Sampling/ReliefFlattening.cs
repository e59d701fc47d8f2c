using System.Numerics;
using AutoPlace.Landmarks;
using AutoPlace.TrainingData.Annotation;
using AutoPlace.TrainingData.Morphable;

namespace AutoPlace.TrainingData.Sampling;

/// <summary>
/// Draws the face towards an ellipsoid, so that its relief grows shallow. Eyes and the inside of the mouth move
/// along with the lids and lips around them as rigid parts.
/// </summary>
internal static class ReliefFlattening
{
    private static readonly int[] LidsLeft = Indices("exocanthion_left", "endocanthion_left", "lid_upper_medial_left", "lid_lower_lateral_left");
    private static readonly int[] LidsRight = Indices("exocanthion_right", "endocanthion_right", "lid_upper_medial_right", "lid_lower_lateral_right");
    private static readonly int[] Lips = Indices("lip_contact_upper", "lip_contact_lower", "cheilion_left", "cheilion_right");
    private static readonly int Tragion = LandmarkNames.IndexOf("tragion_left");
    private static readonly int Menton = LandmarkNames.IndexOf("menton");
    private static readonly int Glabella = LandmarkNames.IndexOf("glabella");
    private static readonly int Exocanthion = LandmarkNames.IndexOf("exocanthion_left");

    /// <summary>Flattens in place.</summary>
    /// <param name="model">Tells skin from other parts.</param>
    /// <param name="carrier">Finds landmarks.</param>
    /// <param name="positions">V positions, centimetres.</param>
    /// <param name="amount">0 leaves the head, 1 puts the face onto the ellipsoid.</param>
    public static void Apply(MorphableModel model, LandmarkCarrier carrier, Span<Vector3> positions, float amount)
    {
        Span<Vector3> before = stackalloc Vector3[carrier.Count];
        Span<Vector3> after = stackalloc Vector3[carrier.Count];
        carrier.Carry(positions, before);

        // Through glabella and menton in front, wide enough for the temples.
        Vector3 top = before[Glabella], bottom = before[Menton];
        var centre = new Vector3(0, (top.Y + bottom.Y) / 2, before[Tragion].Z);
        float front = ((top.Z + bottom.Z) / 2) - centre.Z, halfHeight = (top.Y - bottom.Y) / 2;
        var radii = new Vector3(1.55f * MathF.Abs(before[Exocanthion].X), 2 * halfHeight, front * MathF.Sqrt(4f / 3));
        float tragionZ = before[Tragion].Z;
        for (int v = 0; v < positions.Length; v++)
        {
            if (model.Parts[v] > Part.Scalp)
            {
                continue;
            }

            ref Vector3 p = ref positions[v];
            float weight = amount * WarpSampler.SmoothStep(tragionZ + 2, tragionZ + 6, p.Z)
                * WarpSampler.SmoothStep(bottom.Y - 3, bottom.Y, p.Y) * WarpSampler.SmoothStep(top.Y + 5, top.Y + 1, p.Y);
            float length = ((p - centre) / radii).Length();
            if (weight > 0 && length > 0)
            {
                p += weight * ((1 / length) - 1) * (p - centre);
            }
        }

        carrier.Carry(positions, after);
        Vector3 left = MeanShift(before, after, LidsLeft), right = MeanShift(before, after, LidsRight), mouth = MeanShift(before, after, Lips);
        for (int v = 0; v < positions.Length; v++)
        {
            if (model.Parts[v] > Part.Scalp)
            {
                positions[v] += Follows(model, v) switch
                {
                    > 0 => left,
                    < 0 => right,
                    _ => mouth,
                };
            }
        }
    }

    // +1 the left eye, -1 the right, 0 the mouth.
    private static int Follows(MorphableModel model, int vertex) => model.Parts[vertex] switch
    {
        Part.MouthSocket or Part.GumsTongue or Part.UpperTeeth or Part.LowerTeeth => 0,
        Part.EyeSocketLeft or Part.EyeballLeft => 1,
        Part.EyeSocketRight or Part.EyeballRight => -1,
        _ => model.MeanPositions[vertex].X > 0 ? 1 : -1,
    };

    private static Vector3 MeanShift(ReadOnlySpan<Vector3> before, ReadOnlySpan<Vector3> after, int[] landmarks)
    {
        Vector3 sum = Vector3.Zero;
        foreach (int i in landmarks)
        {
            sum += after[i] - before[i];
        }

        return sum / landmarks.Length;
    }

    private static int[] Indices(params string[] names) => [.. names.Select(LandmarkNames.IndexOf)];
}
