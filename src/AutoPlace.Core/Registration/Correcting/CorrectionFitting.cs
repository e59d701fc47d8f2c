using AutoPlace.Geometry;
using AutoPlace.Template;

namespace AutoPlace.Registration.Correcting;

/// <summary>How a correction fits the head that it is kept on.</summary>
public enum FitOutcome
{
    /// <summary>It is where it was.</summary>
    AsItWas,

    /// <summary>It said no more than its position: it is there, and got the atlas point and lift of that place on this head.</summary>
    TakenByPosition,

    /// <summary>The head has changed there: its place was found again by atlas point and lift.</summary>
    FoundAgain,

    /// <summary>Its place was found again, but there is no skin where it was expected.</summary>
    NoSkinThere,

    /// <summary>It is where it was, but farther from where the program has the joint or landmark than anything that is set right.</summary>
    FarAway,

    /// <summary>The lattice has no such joint; the correction is kept, and changes nothing.</summary>
    UnknownJoint,

    /// <summary>The lattice wasn't laid by such a landmark; the correction is kept, and changes nothing.</summary>
    UnknownLandmark,
}

/// <summary>How one correction fits.</summary>
/// <param name="Subject">Name of the joint or landmark.</param>
/// <param name="Outcome">How it fits.</param>
/// <param name="Distance">How far its place has moved, how far the skin is from where it was expected, or how far from the program's place it is, interocular distances.</param>
public sealed record CorrectionFit(string Subject, FitOutcome Outcome, double Distance);

/// <summary>Takes corrections over to a head, which may be another version of the one that they were made on.</summary>
public static class CorrectionFitting
{
    /// <summary>
    /// Farthest that the atlas point's place may be from a correction that stays as it was, interocular distances: where
    /// the skin itself is unchanged, the map from the atlas of a remeshed head differs by no more (own choice: three
    /// times the spread of a joint's place between two meshings).
    /// </summary>
    private const double SamePlace = 0.03;

    /// <summary>The same for joints inside the head, which no skin confirms.</summary>
    private const double SameInside = 0.01;

    /// <summary>Difference of lift up to which the skin under a correction counts as unchanged, interocular distances (own choice: the chord error of an ordinary head mesh).</summary>
    internal const double SameLift = 0.004;

    /// <summary>Farthest that the skin may be from where the atlas point is expected, interocular distances.</summary>
    private const double MostOff = 0.15;

    /// <summary>Farthest that a correction may be from where the program has its joint or landmark without a word, interocular distances.</summary>
    private const double MostCorrected = 1;

    /// <summary>Fits corrections to a head. None is dropped.</summary>
    /// <param name="head">The head.</param>
    /// <param name="made">The corrections, positions as the file says, in this head's frame.</param>
    /// <param name="sameFile">True when they were made on this very file: they stay exactly as they were.</param>
    /// <returns>The corrections for this head, and how each of them fits.</returns>
    public static (Corrections Corrections, IReadOnlyList<CorrectionFit> Fits) Fit(CorrectableHead head, Corrections made, bool sameFile)
    {
        ArgumentNullException.ThrowIfNull(head);
        ArgumentNullException.ThrowIfNull(made);
        Corrections fitted = made;
        var fits = new List<CorrectionFit>();
        foreach (LandmarkCorrection landmark in made.Landmarks.Values)
        {
            (LandmarkCorrection kept, FitOutcome outcome, double distance) =
                head.Basis?.Has(landmark.Landmark) != true ? (landmark, FitOutcome.UnknownLandmark, 0)
                : landmark.AtlasPoint is null ? (landmark with { AtlasPoint = head.Fixed(landmark.Landmark, landmark.Position)!.AtlasPoint }, FitOutcome.TakenByPosition, 0)
                : sameFile ? (landmark, FitOutcome.AsItWas, 0)
                : Fit(head, landmark);
            (outcome, distance) = OrFarAway(outcome, distance, kept.Position, head.Basis?.Seen.FirstOrDefault(l => l.Name == landmark.Landmark)?.Position);
            fitted = fitted.With(kept);
            fits.Add(new CorrectionFit(landmark.Landmark, outcome, distance));
        }

        // Joints are looked for on the lattice as the landmarks lay it.
        CorrectableHead laid = head.With(fitted);
        foreach (JointCorrection correction in made.Joints.Values)
        {
            JointPlacement? joint = laid.AutomaticJoint(correction.Joint);
            (JointCorrection kept, FitOutcome outcome, double distance) =
                joint is null ? (correction, FitOutcome.UnknownJoint, 0)
                : correction.Position is { } position && HasNoPlace(joint, correction) ? (Placed(laid, joint, correction, position), FitOutcome.TakenByPosition, 0)
                : sameFile || correction.OfBodyRig || correction.Position is null ? (correction, FitOutcome.AsItWas, 0)
                : Fit(laid, joint, correction);
            (outcome, distance) = OrFarAway(outcome, distance, kept.Position, joint?.Position);
            fitted = fitted.With(kept);
            fits.Add(new CorrectionFit(correction.Joint, outcome, distance));
        }

        return (fitted, fits);
    }

    // A joint of the skin is found again by an atlas point and its lift, any other by the atlas point.
    private static bool HasNoPlace(JointPlacement joint, JointCorrection correction) =>
        correction.AtlasPoint is null || (joint.Joint.Ride == Ride.Skin && correction.Lift is null);

    private static JointCorrection Placed(CorrectableHead head, JointPlacement joint, JointCorrection correction, Vector3d position)
    {
        JointCorrection there = head.Fixed(joint with { Lift = correction.Lift ?? joint.Lift }, position);
        return correction with { AtlasPoint = there.AtlasPoint, Lift = there.Lift };
    }

    private static (FitOutcome Outcome, double Distance) OrFarAway(FitOutcome outcome, double distance, Vector3d? kept, Vector3d? programs)
    {
        double away = kept is { } position && programs is { } place ? Vector3d.Distance(position, place) : 0;
        return outcome is FitOutcome.AsItWas or FitOutcome.TakenByPosition && away > MostCorrected ? (FitOutcome.FarAway, away) : (outcome, distance);
    }

    private static (LandmarkCorrection Kept, FitOutcome Outcome, double Distance) Fit(CorrectableHead head, LandmarkCorrection landmark)
    {
        (Vector3d found, double offSkin) = head.Found(landmark);
        double moved = Vector3d.Distance(found, landmark.Position);
        return moved <= SamePlace && offSkin <= SameLift
            ? (landmark, FitOutcome.AsItWas, 0)
            : (landmark with { Position = found }, FitOutcome.FoundAgain, moved);
    }

    private static (JointCorrection Kept, FitOutcome Outcome, double Distance) Fit(
        CorrectableHead head, JointPlacement joint, JointCorrection correction)
    {
        Vector3d was = correction.Position!.Value;
        (Vector3d found, double offSkin) = head.Found(joint, correction);
        (double moved, double lift) = (Vector3d.Distance(found, was), correction.Lift ?? joint.Lift);
        bool unchanged = joint.Joint.Ride == Ride.Skin
            ? moved <= SamePlace && Math.Abs(head.Fixed(joint with { Lift = lift }, was).Lift!.Value - lift) <= SameLift
            : moved <= SameInside;
        return unchanged ? (correction, FitOutcome.AsItWas, 0)
            : offSkin <= MostOff ? (correction with { Position = found }, FitOutcome.FoundAgain, moved)
            : (correction with { Position = found }, FitOutcome.NoSkinThere, offSkin);
    }
}
