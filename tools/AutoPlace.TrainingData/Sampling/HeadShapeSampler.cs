namespace AutoPlace.TrainingData.Sampling;

/// <summary>Weights of the identity modes.</summary>
internal static class HeadShapeSampler
{
    /// <summary>Standard normal weights; for stylised heads times 0.6 to 1.5, log-uniform.</summary>
    public static void Sample(SeededRandom random, HeadKind kind, Span<float> weights)
    {
        float spread = kind == HeadKind.Stylised ? random.LogUniform(0.6f, 1.5f) : 1;
        foreach (ref float weight in weights)
        {
            weight = spread * random.Normal();
        }
    }
}
