using AutoPlace.Landmarks;
using AutoPlace.Registration;
using AutoPlace.Template;

namespace AutoPlace.Verification;

/// <summary>
/// Whether a person should look at a placement. That the head was misunderstood has a calibrated probability, where the
/// network has a calibration; what else is known to go wrong has a judged one.
/// </summary>
public static class ReviewNeed
{
    private const double LeastAgreement = 0.6;
    private const double MostRadius = 0.2;
    private const double DoubtfulFrame = 0.5;
    private const double DoubtfulLandmark = 0.25;
    private const double MissingLandmark = 0.5;
    private const double FailedCheck = 0.5;
    private const double MostMisunderstood = 0.2;

    /// <summary>A failed check as a reason; reasons are listed in one sentence.</summary>
    public static string ReasonOf(Finding failed)
    {
        ArgumentNullException.ThrowIfNull(failed);
        return failed.Message.TrimEnd('.');
    }

    /// <summary>Judges a placement.</summary>
    /// <param name="agreement">Agreement of the head finder's last look, in [0, 1].</param>
    /// <param name="confidence">How sure the reading of the head is.</param>
    /// <param name="landmarks">Its landmarks, with those that a person set.</param>
    /// <param name="findings">Outcome of the checks.</param>
    /// <param name="joints">Its joints.</param>
    public static NeedsPerson Judge(
        double agreement, HeadConfidence confidence, IReadOnlyList<Landmark> landmarks, IReadOnlyList<Finding> findings, IReadOnlyList<JointPlacement> joints)
    {
        ArgumentNullException.ThrowIfNull(joints);
        ArgumentNullException.ThrowIfNull(confidence);
        ArgumentNullException.ThrowIfNull(landmarks);
        ArgumentNullException.ThrowIfNull(findings);
        double fine = 1 - (confidence.Misunderstood ?? 0);
        var reasons = new List<string>();
        if (agreement < LeastAgreement)
        {
            Doubt(DoubtfulFrame, $"the front view agrees with a head's by {agreement:0.00} only");
        }

        foreach ((string name, Landmark? landmark) in RequiredLandmarks.Of(landmarks))
        {
            if (landmark is null)
            {
                Doubt(MissingLandmark, $"{name} was not seen");
            }
            else if (ConfidenceRadius.Of90(landmark.Covariance) is var radius && radius > MostRadius)
            {
                Doubt(DoubtfulLandmark, $"{landmark.Name} is uncertain by {100 * radius:0} % of the interocular distance");
            }
        }

        // What has no skin of its own, as teeth and tongue often, is nothing out of the way.
        JointPlacement[] unseen = [.. joints.Where(joint => joint.Joint.Kind == JointKind.Surface && joint.State == JointState.Inferred)];
        if (unseen.Length > 0)
        {
            reasons.Add($"skin not seen, so that joints are inferred: {string.Join(", ", unseen.GroupBy(j => j.Joint.Region ?? "other").Select(region => $"{region.Key} {region.Count()}"))}");
        }

        reasons.AddRange(confidence.LeftOut.Select(part => $"{part} hides the face and was left out"));
        if (confidence.OtherHeads.Count > 0)
        {
            reasons.Add($"the file holds {(confidence.OtherHeads.Count == 1 ? "another head" : "other heads")}, too: {string.Join(", ", confidence.OtherHeads)}");
        }

        // One cause shows in many checks: together they are one doubt.
        string[] failed = [.. findings.Where(f => f.Severity == Severity.Error).Select(ReasonOf)];
        fine *= failed.Length > 0 ? 1 - FailedCheck : 1;
        reasons.AddRange(failed);
        if (confidence.Misunderstood > MostMisunderstood)
        {
            reasons.Add($"of heads that look as clear as this one, {100 * confidence.Misunderstood:0} % were misunderstood");
        }

        return new NeedsPerson(1 - fine, reasons);

        // What is uncertain the calibration knows already.
        void Doubt(double probability, string reason)
        {
            fine *= confidence.Misunderstood is null ? 1 - probability : 1;
            reasons.Add(reason);
        }
    }
}
