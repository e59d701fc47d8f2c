using AutoPlace.Landmarks;

namespace AutoPlace.Verification;

/// <summary>
/// Whether a person should look at a placement, from what is known to go wrong. The probabilities are judged, not yet
/// calibrated against heads that failed.
/// </summary>
public static class ReviewNeed
{
    private const double LeastAgreement = 0.6;
    private const double MostRadius = 0.2;
    private const double DoubtfulFrame = 0.5;
    private const double DoubtfulLandmark = 0.25;
    private const double MissingLandmark = 0.5;
    private const double FailedCheck = 0.5;

    /// <summary>Judges a placement.</summary>
    /// <param name="agreement">Agreement of the head finder's last look, in [0, 1].</param>
    /// <param name="landmarks">Landmarks, head frame.</param>
    /// <param name="findings">Outcome of the checks.</param>
    public static NeedsPerson Judge(double agreement, IReadOnlyList<Landmark> landmarks, IReadOnlyList<Finding> findings)
    {
        ArgumentNullException.ThrowIfNull(landmarks);
        ArgumentNullException.ThrowIfNull(findings);
        double fine = 1;
        var reasons = new List<string>();
        if (agreement < LeastAgreement)
        {
            Doubt(DoubtfulFrame, $"the front view agrees with a head's by {agreement:0.00} only");
        }

        foreach (string name in LandmarkNames.Required)
        {
            Landmark? landmark = landmarks.FirstOrDefault(l => l.Name == name);
            if (landmark is null || landmark.Source == LandmarkSource.Inferred)
            {
                Doubt(MissingLandmark, $"{name} was not seen");
            }
            else if (ConfidenceRadius.Of90(landmark.Covariance) is var radius && radius > MostRadius)
            {
                Doubt(DoubtfulLandmark, $"{name} is uncertain by {100 * radius:0} % of the interocular distance");
            }
        }

        foreach (Finding finding in findings.Where(f => f.Severity == Severity.Error))
        {
            Doubt(FailedCheck, finding.Message);
        }

        return new NeedsPerson(1 - fine, reasons);

        void Doubt(double probability, string reason)
        {
            fine *= 1 - probability;
            reasons.Add(reason);
        }
    }
}
