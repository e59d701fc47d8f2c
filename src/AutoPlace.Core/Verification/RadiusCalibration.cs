using AutoPlace.Geometry;

namespace AutoPlace.Verification;

/// <summary>
/// 90 % radii: the error that trees expect, times a factor of split conformal prediction (Lei et al. 2018,
/// "Distribution-free predictive inference for regression", section 2.2; from memory), one for each class of expected
/// error. The promise of 90 % holds for heads exchangeable with those of the calibration, and for no others.
/// </summary>
public sealed record ConformalRadii
{
    /// <summary>Natural logarithm of the expected error, interocular distances.</summary>
    public required TreeEnsemble LogError { get; init; }

    /// <summary>Upper borders of the classes of expected error but the last, as logarithms, ascending.</summary>
    public required IReadOnlyList<double> ClassBorders { get; init; }

    /// <summary>For each class the radius that held 90 % of the errors, in expected errors.</summary>
    public required IReadOnlyList<double> Factors { get; init; }

    /// <summary>90 % radius, interocular distances.</summary>
    /// <param name="expectedLogError">Logarithm of the expected error.</param>
    public double Radius90(double expectedLogError) =>
        Math.Exp(expectedLogError) * Factors[ClassBorders.Count(border => expectedLogError > border)];
}

/// <summary>90 % radii of landmarks, each compared with what is usual of it.</summary>
public sealed record RadiusCalibration
{
    /// <summary>How many numbers <see cref="Inputs"/> gives.</summary>
    public static int InputCount => LandmarkFeatures.OwnCount + 4 + HeadFeatures.Names.Count;

    /// <summary>For each landmark, in the network's order, what it's compared with.</summary>
    public required IReadOnlyList<UsualLandmark> Usual { get; init; }

    /// <summary>The radii, by trees that are given <see cref="Inputs"/>.</summary>
    public required ConformalRadii Errors { get; init; }

    /// <summary>Natural logarithm of the error expected of a landmark, interocular distances.</summary>
    /// <param name="landmark">Number of the landmark in the network's order.</param>
    /// <param name="features">Its <see cref="LandmarkFeatures"/>.</param>
    /// <param name="head">The head's <see cref="HeadFeatures"/>.</param>
    public double ExpectedLogError(int landmark, IReadOnlyList<double> features, IReadOnlyList<double> head) =>
        Errors.LogError.Evaluate(Inputs(Usual[landmark], features, head));

    /// <summary>What the trees are given of a landmark: its own features, those against the usual, those of the head.</summary>
    /// <param name="usual">What the landmark is compared with.</param>
    /// <param name="features">Its features.</param>
    /// <param name="head">The head's features.</param>
    public static double[] Inputs(UsualLandmark usual, IReadOnlyList<double> features, IReadOnlyList<double> head)
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
