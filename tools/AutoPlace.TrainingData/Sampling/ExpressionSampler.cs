using AutoPlace.TrainingData.Morphable;

namespace AutoPlace.TrainingData.Sampling;

/// <summary>Weights of the expression shapes.</summary>
internal static class ExpressionSampler
{
    private const float Expressive = 0.55f;
    private const float LidsMovedAmongExpressive = 0.30f;
    private const float LidsMovedAlone = 0.09f;
    private const float MouthWideOpen = 0.07f;
    private const float PairedSides = 0.65f;
    private const float EvenSides = 0.5f;

    /// <summary>
    /// In 55 % one to five shapes at 0 to 0.8 (jaw shapes times 0.6), lids closed in part or wholly in 30 % of those;
    /// lids alone in another 9 %; a wide open mouth in 7 %; else neutral. Shapes of one side come with those of the other
    /// in 65 %, half of these at another weight.
    /// </summary>
    /// <param name="model">Knows the shapes' names.</param>
    /// <param name="random">The head's stream.</param>
    /// <param name="weights">Receives a weight for each shape.</param>
    public static void Sample(MorphableModel model, SeededRandom random, Span<float> weights)
    {
        weights.Clear();
        if (random.Chance(Expressive))
        {
            int count = random.Whole(1, 5);
            for (int i = 0; i < count; i++)
            {
                int shape = random.Whole(0, weights.Length - 1);
                string name = model.ExpressionNames[shape];
                float weight = random.Uniform(0, name.StartsWith("jaw", StringComparison.Ordinal) ? 0.48f : 0.8f);
                Set(model, weights, name, weight);
                if (random.Chance(PairedSides) && OtherSide(name) is string other)
                {
                    Set(model, weights, other, weight * (random.Chance(EvenSides) ? 1 : random.Uniform(0.2f, 1)));
                }
            }

            if (random.Chance(LidsMovedAmongExpressive))
            {
                MoveLids(model, random, weights);
            }
        }
        else if (random.Chance(LidsMovedAlone / (1 - Expressive)))
        {
            MoveLids(model, random, weights);
        }

        if (random.Chance(MouthWideOpen))
        {
            Set(model, weights, "jawOpen", random.Uniform(0.3f, 1));
        }
    }

    // Half-closed to closed; one eye differs in a third.
    private static void MoveLids(MorphableModel model, SeededRandom random, Span<float> weights)
    {
        float closure = random.Uniform(0.2f, 1);
        CloseLids(model, weights, closure);
        if (random.Chance(0.33f))
        {
            Set(model, weights, random.Chance(0.5f) ? "eyeBlink_L" : "eyeBlink_R", random.Uniform(0, 1));
        }
    }

    /// <summary>Sets both lids to the given closure, 0 to 1.</summary>
    public static void CloseLids(MorphableModel model, Span<float> weights, float closure)
    {
        Set(model, weights, "eyeBlink_L", closure);
        Set(model, weights, "eyeBlink_R", closure);
    }

    /// <summary>Sets one shape's weight; a model without the shape stays as it is.</summary>
    public static void Set(MorphableModel model, Span<float> weights, string name, float weight)
    {
        for (int i = 0; i < weights.Length; i++)
        {
            if (string.Equals(model.ExpressionNames[i], name, StringComparison.Ordinal))
            {
                weights[i] = weight;
            }
        }
    }

    private static string? OtherSide(string name) =>
        name.EndsWith("_L", StringComparison.Ordinal) ? name[..^1] + "R"
        : name.EndsWith("_R", StringComparison.Ordinal) ? name[..^1] + "L"
        : null;
}
