using AutoPlace.Landmarks;

namespace AutoPlace.Verification;

/// <summary>
/// How sure a reading is, learned from heads whose landmarks and joints are known: the 90 % radius of each, and how likely
/// the head was misunderstood. Belongs to one landmark network.
/// </summary>
public sealed record ConfidenceCalibration
{
    /// <summary>Logarithm of the error from which on a landmark is off, 10 % of the interocular distance.</summary>
    private const double LogOff = -2.302585;

    /// <summary>Scale of the logistic distribution of a log error about the expected one, about what the records show.</summary>
    private const double LogSpread = 0.4;

    /// <summary>How many numbers <see cref="FailureInputs"/> gives.</summary>
    public static int FailureInputCount => HeadFeatures.Names.Count + 4;

    /// <summary>SHA-256 of the landmark network that this was measured with, lower-case hexadecimal.</summary>
    public required string ModelSha256 { get; init; }

    /// <summary>The landmarks' radii.</summary>
    public required RadiusCalibration Radii { get; init; }

    /// <summary>The joints' radii, by trees that are given <see cref="JointFeatures.Inputs"/>.</summary>
    public required ConformalRadii Joints { get; init; }

    /// <summary>
    /// Whether a head was misunderstood: up or front wrong by more than 20 degrees, or more than 10 % of its landmarks
    /// off. From <see cref="FailureInputs"/>.
    /// </summary>
    public required TreeClassifier Failure { get; init; }

    /// <summary>The landmarks with covariances that have the calibrated 90 % radii, their axes' ratios unchanged.</summary>
    /// <param name="landmarks">Landmarks in the network's order.</param>
    /// <param name="expectedLogErrors">What is expected of each.</param>
    public IReadOnlyList<Landmark> Calibrated(IReadOnlyList<Landmark> landmarks, IReadOnlyList<double> expectedLogErrors)
    {
        ArgumentNullException.ThrowIfNull(landmarks);
        ArgumentNullException.ThrowIfNull(expectedLogErrors);
        return [.. landmarks.Select((l, i) => l with { Covariance = ConfidenceRadius.Scaled(l.Covariance, Radii.Errors.Radius90(expectedLogErrors[i])) })];
    }

    /// <summary>What the trees of a failure are given: the head's features, and what is expected of its landmarks.</summary>
    /// <param name="head">The head's features.</param>
    /// <param name="expectedLogErrors">Logarithm of the error expected of each landmark.</param>
    public static double[] FailureInputs(IReadOnlyList<double> head, IReadOnlyList<double> expectedLogErrors)
    {
        ArgumentNullException.ThrowIfNull(expectedLogErrors);
        double[] sorted = [.. expectedLogErrors.Order()];
        return
        [
            .. head,
            expectedLogErrors.Average(e => 1 / (1 + Math.Exp((LogOff - e) / LogSpread))),
            expectedLogErrors.Average(),
            sorted[sorted.Length * 3 / 4],
            sorted[sorted.Length * 9 / 10],
        ];
    }
}

/// <summary>A probability from trees: the logistic function of slope * sum + offset (Platt 1999).</summary>
/// <param name="Trees">The trees.</param>
/// <param name="Slope">Factor of their sum.</param>
/// <param name="Offset">Offset.</param>
public sealed record TreeClassifier(TreeEnsemble Trees, double Slope, double Offset)
{
    /// <summary>Probability in [0, 1].</summary>
    /// <param name="features">What the trees are given.</param>
    public double Probability(ReadOnlySpan<double> features) => OfSum(Trees.Evaluate(features));

    /// <summary>Probability for a sum of the trees.</summary>
    public double OfSum(double sum) => 1 / (1 + Math.Exp(-((Slope * sum) + Offset)));
}
