using AutoPlace.TrainingData.Morphable;

namespace AutoPlace.TrainingData.Sampling;

/// <summary>Weights of the expression shapes.</summary>
internal static class ExpressionSampler
{
    private const float Expressive = 0.55f;
    private const float LidsClosedAmongExpressive = 0.25f;
    private const float LidsClosedAlone = 0.07f;
    private const float PairedSides = 0.8f;

    /// <summary>
    /// In 55 % one to five shapes at 0 to 0.8 (jaw shapes times 0.6), lids closed in a quarter of those; lids alone
    /// closed in another 7 %; else neutral. Shapes of one side mostly come with those of the other.
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
                    Set(model, weights, other, weight);
                }
            }

            if (random.Chance(LidsClosedAmongExpressive))
            {
                CloseLids(model, weights, random.Uniform(0.5f, 1));
            }
        }
        else if (random.Chance(LidsClosedAlone / (1 - Expressive)))
        {
            CloseLids(model, weights, random.Uniform(0.7f, 1));
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
