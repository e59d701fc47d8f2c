using AutoPlace.Geometry;
using AutoPlace.Landmarks;

namespace AutoPlace.Verification;

/// <summary>
/// How sure a reading is, learned from heads whose landmarks are known: the 90 % radius of each landmark, how likely the
/// head was misunderstood, and how likely a place is a head at all. Belongs to one landmark network.
/// </summary>
/// <remarks>
/// The radius is the error that trees expect, times a factor of split conformal prediction (Lei et al. 2018, "Distribution-free
/// predictive inference for regression", section 2.2; from memory), one factor for each class of expected error. Its promise
/// of 90 % holds for heads exchangeable with those of the calibration, and for no others.
/// </remarks>
public sealed record ConfidenceCalibration
{
    /// <summary>Logarithm of the error from which on a landmark is off, 10 % of the interocular distance.</summary>
    private const double LogOff = -2.302585;

    /// <summary>Scale of the logistic distribution of a log error about the expected one, about what the records show.</summary>
    private const double LogSpread = 0.4;

    /// <summary>How many numbers <see cref="FailureInputs"/> gives.</summary>
    public static int FailureInputCount => HeadFeatures.Names.Count + 4;

    /// <summary>How many numbers <see cref="LandmarkInputs"/> gives.</summary>
    public static int InputCount => LandmarkFeatures.OwnCount + 4 + HeadFeatures.Names.Count;

    /// <summary>SHA-256 of the landmark network that this was measured with, lower-case hexadecimal.</summary>
    public required string ModelSha256 { get; init; }

    /// <summary>For each landmark, in the network's order, what it's compared with.</summary>
    public required IReadOnlyList<UsualLandmark> Usual { get; init; }

    /// <summary>Natural logarithm of the error expected of a landmark, interocular distances, from <see cref="LandmarkInputs"/>.</summary>
    public required TreeEnsemble LogError { get; init; }

    /// <summary>Upper borders of the classes of expected error but the last, as logarithms, ascending.</summary>
    public required IReadOnlyList<double> ClassBorders { get; init; }

    /// <summary>For each class the radius that held 90 % of the errors, in expected errors.</summary>
    public required IReadOnlyList<double> RadiusFactors { get; init; }

    /// <summary>Whether a head was misunderstood, from <see cref="FailureInputs"/>.</summary>
    public required TreeClassifier Failure { get; init; }

    /// <summary>Whether a place is a head, from <see cref="HeadFeatures"/>.</summary>
    public required TreeClassifier Head { get; init; }

    /// <summary>Probability of a head below which a place is refused.</summary>
    public required double LeastHead { get; init; }

    /// <summary>Logarithm of the error expected of each landmark, interocular distances.</summary>
    /// <param name="features">The <see cref="LandmarkFeatures"/> of each, in the network's order.</param>
    /// <param name="head">The head's <see cref="HeadFeatures"/>.</param>
    public double[] ExpectedLogErrors(IReadOnlyList<IReadOnlyList<double>> features, IReadOnlyList<double> head)
    {
        ArgumentNullException.ThrowIfNull(features);
        return [.. features.Select((f, i) => LogError.Evaluate(LandmarkInputs(Usual[i], f, head)))];
    }

    /// <summary>90 % radius of a landmark, interocular distances.</summary>
    /// <param name="expectedLogError">Logarithm of the error expected of it.</param>
    public double Radius90(double expectedLogError) =>
        Math.Exp(expectedLogError) * RadiusFactors[ClassBorders.Count(border => expectedLogError > border)];

    /// <summary>The landmarks with covariances that have the calibrated 90 % radii, their axes' ratios unchanged.</summary>
    /// <param name="landmarks">Landmarks in the network's order.</param>
    /// <param name="expectedLogErrors">What is expected of each.</param>
    public IReadOnlyList<Landmark> Calibrated(IReadOnlyList<Landmark> landmarks, IReadOnlyList<double> expectedLogErrors)
    {
        ArgumentNullException.ThrowIfNull(landmarks);
        ArgumentNullException.ThrowIfNull(expectedLogErrors);
        return [.. landmarks.Select((l, i) => l with { Covariance = ConfidenceRadius.Scaled(l.Covariance, Radius90(expectedLogErrors[i])) })];
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

    /// <summary>What the trees are given of a landmark: its own features, those against the usual, those of the head.</summary>
    /// <param name="usual">What the landmark is compared with.</param>
    /// <param name="features">Its features.</param>
    /// <param name="head">The head's features.</param>
    public static double[] LandmarkInputs(UsualLandmark usual, IReadOnlyList<double> features, IReadOnlyList<double> head)
    {
        ArgumentNullException.ThrowIfNull(usual);
        Vector3d atlas = LandmarkFeatures.Atlas(features), dense = LandmarkFeatures.Dense(features);
        return
        [
            .. features.Take(LandmarkFeatures.OwnCount),
            usual.LogError,
            Vector3d.Distance(atlas, usual.Atlas),
            Vector3d.Distance(dense, usual.Dense),
            Vector3d.Distance(atlas - dense, usual.Atlas - usual.Dense),
            .. head,
        ];
    }
}

/// <summary>What is usual of a landmark, over the heads of the calibration.</summary>
/// <param name="Name">Its name.</param>
/// <param name="LogError">Mean logarithm of its error, interocular distances.</param>
/// <param name="Atlas">Where the head's similarity has it in the atlas: median of each coordinate.</param>
/// <param name="Dense">Where the correspondences around it have it there.</param>
public sealed record UsualLandmark(string Name, double LogError, Vector3d Atlas, Vector3d Dense);

/// <summary>A probability from trees: the logistic function of slope * sum + offset (Platt 1999).</summary>
/// <param name="Trees">The trees.</param>
/// <param name="Slope">Factor of their sum.</param>
/// <param name="Offset">Offset.</param>
public sealed record TreeClassifier(TreeEnsemble Trees, double Slope, double Offset)
{
    /// <summary>Probability in [0, 1].</summary>
    /// <param name="features">What the trees are given.</param>
    public double Probability(ReadOnlySpan<double> features) => 1 / (1 + Math.Exp(-((Slope * Trees.Evaluate(features)) + Offset)));
}
