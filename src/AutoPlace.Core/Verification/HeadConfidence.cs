using AutoPlace.Landmarks;
using AutoPlace.Registration;

namespace AutoPlace.Verification;

/// <summary>How sure a reading of a head is.</summary>
/// <param name="Landmarks">The head's landmarks, with calibrated covariances.</param>
/// <param name="Misunderstood">Probability that the head was misunderstood; null without a calibration.</param>
public sealed record HeadConfidence(IReadOnlyList<Landmark> Landmarks, double? Misunderstood)
{
    /// <summary>How sure a reading is. Without a calibration the landmarks keep the covariances that the views gave them.</summary>
    /// <param name="calibration">The network's calibration, if it has one.</param>
    /// <param name="agreement">Agreement of the head finder's last look, in [0, 1].</param>
    /// <param name="scan">The scan.</param>
    /// <param name="read">What looking at the head found.</param>
    /// <param name="head">The head as understood.</param>
    public static HeadConfidence Of(
        ConfidenceCalibration? calibration, double agreement, ScanSurface scan, HeadReading read, ConditionedHead head)
    {
        ArgumentNullException.ThrowIfNull(head);
        IReadOnlyList<Landmark> landmarks = head.Evidence.Landmarks;
        if (calibration is null)
        {
            return new HeadConfidence(landmarks, null);
        }

        double[][] features = LandmarkFeatures.Of(scan, read, head);
        double[] whole = HeadFeatures.Of(agreement, read, head, features);
        double[] expected = [.. features.Select((f, i) => calibration.Radii.ExpectedLogError(i, f, whole))];
        return new HeadConfidence(
            calibration.Calibrated(landmarks, expected),
            calibration.Failure.Probability(ConfidenceCalibration.FailureInputs(whole, expected)));
    }
}
