using System.Globalization;
using AutoPlace.Registration.Correcting;

namespace AutoPlace.Verification;

/// <summary>Corrections that were kept on another version of the head: which were found again, and which don't fit any more.</summary>
public static class CorrectionCheck
{
    /// <summary>Name of the check.</summary>
    public const string Name = "corrections";

    private static readonly CheckLimit Moved = new(
        0, "IOD", "none: a person decides whether a correction that went along with the skin still is what was meant");

    private static readonly CheckLimit OffSkin = new(
        0.15, "IOD", "own choice: about 1 cm on an adult, farther than an unchanged feature is ever expected from where it lies");

    private static readonly CheckLimit Away = new(
        1, "IOD", "own choice: nothing on a head that was found is wrong by as much as the eyes are apart; a file in another unit is");

    private static readonly CheckLimit Whole = new(0, "count", "none: that a correction was taken by its position is said, since another version of the head would have it elsewhere");

    private static readonly CheckLimit Known = new(0, "count", "every correction belongs to a joint or landmark");

    /// <summary>Findings about corrections that didn't stay as they were.</summary>
    /// <param name="fits">How each correction fits.</param>
    /// <param name="left">Names of the joints that the template has but this level of it leaves out.</param>
    public static IEnumerable<Finding> Run(IEnumerable<CorrectionFit> fits, IReadOnlySet<string> left)
    {
        ArgumentNullException.ThrowIfNull(fits);
        ArgumentNullException.ThrowIfNull(left);
        foreach (CorrectionFit fit in fits)
        {
            string distance = string.Create(CultureInfo.InvariantCulture, $"{fit.Distance:F3} of the interocular distance");
            switch (fit.Outcome)
            {
                case FitOutcome.TakenByPosition:
                    yield return Whole.Finding(Name, Severity.Info, fit.Subject, 1, $"The correction of {fit.Subject} says its position alone: by what it is found again on other heads is taken from this one.");
                    break;
                case FitOutcome.FoundAgain:
                    yield return Moved.Finding(Name, Severity.Info, fit.Subject, fit.Distance, $"The head has changed at {fit.Subject}: the correction went along with the skin by {distance}.");
                    break;
                case FitOutcome.NoSkinThere:
                    yield return OffSkin.Finding(Name, Severity.Warning, fit.Subject, fit.Distance, $"The correction of {fit.Subject} doesn't fit any more: the skin is {distance} from where it was expected.");
                    break;
                case FitOutcome.FarAway:
                    yield return Away.Finding(Name, Severity.Warning, fit.Subject, fit.Distance, $"The correction of {fit.Subject} stays where it is, {distance} from where the program has it (more than {Away.Value.ToString(CultureInfo.InvariantCulture)}): is it meant for this head, in this unit?");
                    break;
                case FitOutcome.UnknownLandmark:
                    yield return Known.Finding(Name, Severity.Warning, fit.Subject, 1, $"The correction of the landmark {fit.Subject} is kept and not used: the lattice wasn't laid by it.");
                    break;
                case FitOutcome.UnknownJoint:
                    bool leftOut = left.Contains(fit.Subject);
                    yield return Known.Finding(Name, leftOut ? Severity.Info : Severity.Warning, fit.Subject, 1, leftOut
                        ? $"The correction of {fit.Subject} is kept and not used: this level of the lattice leaves the joint out."
                        : $"The correction of {fit.Subject} is kept and not used: the lattice has no such joint.");
                    break;
            }
        }
    }
}
