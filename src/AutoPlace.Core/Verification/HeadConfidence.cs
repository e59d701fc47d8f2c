using AutoPlace.Landmarks;
using AutoPlace.Registration;
using AutoPlace.Registration.Correcting;

namespace AutoPlace.Verification;

/// <summary>How sure a reading of a head, and the placement that came of it, is.</summary>
/// <param name="Landmarks">The head's landmarks, with calibrated covariances.</param>
/// <param name="Misunderstood">Probability that the head was misunderstood; null without a calibration.</param>
public sealed record HeadConfidence(IReadOnlyList<Landmark> Landmarks, double? Misunderstood)
{
    private IReadOnlyDictionary<string, double>? _jointRadii;
    private Func<IReadOnlyList<JointPlacement>, IReadOnlyDictionary<string, double>>? _radiiOf;

    /// <summary>Names of the scan's parts that the head was looked at without, since they hide its face.</summary>
    public IReadOnlyList<string> LeftOut { get; init; } = [];

    /// <summary>Other heads of the file, which weren't placed: the names of their parts, or where they are in the file.</summary>
    public IReadOnlyList<string> OtherHeads { get; init; } = [];

    /// <summary>Which of the file's heads was placed, named like <see cref="OtherHeads"/>; null when there is one only.</summary>
    public string? PlacedHead { get; init; }

    /// <summary>How sure a reading is. Without a calibration landmarks and joints keep what views and registration gave them.</summary>
    /// <param name="calibration">The network's calibration, if it has one.</param>
    /// <param name="agreement">Agreement of the head finder's last look, in [0, 1].</param>
    /// <param name="scan">The scan.</param>
    /// <param name="read">What looking at the head found.</param>
    /// <param name="head">The head as understood.</param>
    /// <returns>Without radii of joints, see <see cref="WithRadiiOf"/>.</returns>
    public static HeadConfidence Of(ConfidenceCalibration? calibration, double agreement, ScanSurface scan, HeadReading read, ConditionedHead head)
    {
        ArgumentNullException.ThrowIfNull(head);
        IReadOnlyList<Landmark> landmarks = head.Evidence.Landmarks;
        if (calibration is null)
        {
            return new HeadConfidence(landmarks, null);
        }

        var surroundings = new HeadSurroundings(head.Evidence);
        double[][] features = LandmarkFeatures.Of(scan, read, head, surroundings);
        double[] whole = HeadFeatures.Of(agreement, read, head, features);
        double[] expected = [.. features.Select((f, i) => calibration.Radii.ExpectedLogError(i, f, whole))];
        return new HeadConfidence(
            calibration.Calibrated(landmarks, expected),
            calibration.Failure.Probability(ConfidenceCalibration.FailureInputs(whole, expected)))
        {
            _radiiOf = laid => laid.Zip(JointFeatures.Of(laid, landmarks, surroundings)).ToDictionary(
                j => j.First.Joint.Name,
                j => calibration.Joints.Radius90(calibration.Joints.LogError.Evaluate(JointFeatures.Inputs(j.Second, whole))),
                StringComparer.Ordinal),
        };
    }

    /// <summary>The same with radii of joints.</summary>
    /// <param name="laid">Joints that were placed by what was seen; none where they were carried over with the mesh.</param>
    public HeadConfidence WithRadiiOf(IReadOnlyList<JointPlacement> laid)
    {
        ArgumentNullException.ThrowIfNull(laid);
        return this with { _jointRadii = _radiiOf?.Invoke(laid), _radiiOf = null };
    }

    /// <summary>
    /// A placement on this head with calibrated 90 % radii. Joints that a person set have none, and those that are usually
    /// wrong with these a smaller one.
    /// </summary>
    /// <param name="placement">The lattice that the confidence was made for, corrected or not.</param>
    public LatticePlacement Calibrated(LatticePlacement placement)
    {
        ArgumentNullException.ThrowIfNull(placement);
        if (_jointRadii is not { } radii)
        {
            return placement;
        }

        bool[] set = [.. placement.Joints.Select(joint => joint.IsSet)];
        double[] remaining = DisplacementSpread.Of(placement).Remaining(set);
        return placement with
        {
            Joints = [.. placement.Joints.Select((joint, i) => !set[i] && radii.TryGetValue(joint.Joint.Name, out double radius)
                ? joint with { Radius90 = radius * remaining[i] }
                : joint)],
        };
    }
}
