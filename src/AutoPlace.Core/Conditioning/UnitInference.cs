namespace AutoPlace.Conditioning;

/// <summary>A guess at a file's unit.</summary>
/// <param name="Name">Name of the unit.</param>
/// <param name="MetresPerUnit">Metres for each unit.</param>
/// <param name="Probability">Probability in [0, 1] among the units considered.</param>
public readonly record struct UnitGuess(string Name, double MetresPerUnit, double Probability);

/// <summary>
/// Infers a file's unit from the interocular distance. Adults have 63 mm, nearly all between 45 and 80 (Dodgson 2004,
/// Proc. SPIE 5291:36-46); stylised heads vary by much more, so the spread assumed is wide.
/// </summary>
public static class UnitInference
{
    private const double MeanInterocularMetres = 0.063;

    /// <summary>Standard deviation of the natural logarithm: a factor of 1.6 either way, judged for stylised heads.</summary>
    private const double LogSpread = 0.47;

    // Prior weights: what exporters write. Common practice, no published source.
    private static readonly (string Name, double Metres, double Weight)[] Units =
        [("metre", 1, 0.4), ("centimetre", 0.01, 0.35), ("millimetre", 0.001, 0.1), ("decimetre", 0.1, 0.05), ("inch", 0.0254, 0.07), ("foot", 0.3048, 0.03)];

    /// <summary>Units in order of probability.</summary>
    /// <param name="interocularDistance">Interocular distance in the file's unit, positive.</param>
    /// <exception cref="ArgumentOutOfRangeException">The distance is not positive.</exception>
    public static IReadOnlyList<UnitGuess> Infer(double interocularDistance)
    {
        ArgumentOutOfRangeException.ThrowIfNegativeOrZero(interocularDistance);
        double[] log = new double[Units.Length];
        for (int i = 0; i < log.Length; i++)
        {
            double z = Math.Log(interocularDistance * Units[i].Metres / MeanInterocularMetres) / LogSpread;
            log[i] = Math.Log(Units[i].Weight) - (0.5 * z * z);
        }

        double top = log.Max();
        double sum = log.Sum(l => Math.Exp(l - top));
        return [.. Units.Select((u, i) => new UnitGuess(u.Name, u.Metres, Math.Exp(log[i] - top) / sum)).OrderByDescending(g => g.Probability)];
    }
}
