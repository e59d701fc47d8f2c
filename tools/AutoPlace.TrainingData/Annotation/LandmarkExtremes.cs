using System.Numerics;
using AutoPlace.Landmarks;
using AutoPlace.TrainingData.Morphable;

namespace AutoPlace.TrainingData.Annotation;

/// <summary>
/// Finds landmarks that are extremes of the surface anew on each head, among the vertices near their place on the
/// mean. Where the surface is flat a mild preference for that place decides.
/// </summary>
internal sealed class LandmarkExtremes
{
    // Candidates this much behind the extreme count 1/e; smooths over vertices.
    private const float SoftnessCm = 0.02f;
    private const float MidlineHalfWidthCm = 0.03f;
    private readonly List<Candidates> _all = [];

    /// <summary>Finds the candidates on the mean.</summary>
    public LandmarkExtremes(MorphableModel model, LandmarkCarrier carrier)
    {
        foreach (LandmarkDefinition.Extreme extreme in LandmarkDefinition.Extremes)
        {
            int landmark = LandmarkNames.IndexOf(extreme.Name);
            Vector3 place = carrier.Carry(model.MeanPositions, landmark);
            bool midline = extreme.Direction.X == 0;
            var vertices = new List<int>();
            var losses = new List<float>();
            for (int v = 0; v < model.VertexCount && model.Parts[v] == Part.Face; v++)
            {
                Vector3 p = model.MeanPositions[v];
                float distance = Vector3.Distance(p, place);
                if (distance <= extreme.ReachCm && (!midline || MathF.Abs(p.X) <= MidlineHalfWidthCm))
                {
                    vertices.Add(v);
                    losses.Add(extreme.Preference * distance * distance);
                }
            }

            if (vertices.Count > 1)
            {
                _all.Add(new(landmark, Vector3.Normalize(extreme.Direction), [.. vertices], [.. losses]));
            }
        }
    }

    /// <summary>Replaces the landmarks that are extremes.</summary>
    /// <param name="shape">Deformed vertices of the model, in axes of the head frame, centimetres.</param>
    /// <param name="landmarks">All landmarks.</param>
    public void Refine(ReadOnlySpan<Vector3> shape, Span<Vector3> landmarks)
    {
        foreach (Candidates c in _all)
        {
            float best = float.NegativeInfinity;
            for (int i = 0; i < c.Vertices.Length; i++)
            {
                best = MathF.Max(best, Vector3.Dot(shape[c.Vertices[i]], c.Direction) - c.Losses[i]);
            }

            Vector3 sum = Vector3.Zero;
            float total = 0;
            for (int i = 0; i < c.Vertices.Length; i++)
            {
                float score = Vector3.Dot(shape[c.Vertices[i]], c.Direction) - c.Losses[i];
                float weight = MathF.Exp((score - best) / SoftnessCm);
                sum += weight * shape[c.Vertices[i]];
                total += weight;
            }

            landmarks[c.Landmark] = sum / total;
        }
    }

    private sealed record Candidates(int Landmark, Vector3 Direction, int[] Vertices, float[] Losses);
}
