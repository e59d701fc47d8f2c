using System.Globalization;
using AutoPlace.Geometry;
using AutoPlace.Landmarks;
using AutoPlace.Registration;

namespace AutoPlace.Verification;

/// <summary>
/// The landmarks that a placement can't do without are there and known well enough, and joints that stand on a
/// landmark agree with it.
/// </summary>
internal static class LandmarkCheck
{
    internal const string Missing = "landmark-missing";
    internal const string Uncertain = "landmark-uncertainty";
    internal const string Agreement = "landmark-agreement";

    internal static readonly CheckLimit Count = new(1, "count", "a placement rests on eye centres, nose base, mouth corners and chin");

    internal static readonly CheckLimit Radius = new(
        0.25, "IOD", "own choice: about 16 mm on an adult, half a fissure's width");

    internal static readonly CheckLimit Apart = new(
        0.1, "IOD", "own choice: about 6 mm on an adult, beyond the landmark's own 90 % radius");

    internal static IEnumerable<Finding> Run(CheckedHead head) => Required(head).Concat(Agreements(head));

    private static IEnumerable<Finding> Required(CheckedHead head)
    {
        foreach ((string name, Landmark? landmark) in RequiredLandmarks.Of(head.Landmarks))
        {
            if (landmark is null)
            {
                yield return Count.Finding(
                    Missing, Severity.Warning, name, 0,
                    $"{name} was not seen on this head; everything near it is inferred.");
                continue;
            }

            double radius = ConfidenceRadius.Of90(landmark.Covariance);
            if (radius > Radius.Value)
            {
                string r = radius.ToString("F2", CultureInfo.InvariantCulture);
                yield return Radius.Finding(
                    Uncertain, Severity.Warning, landmark.Name, radius,
                    $"{landmark.Name} is only known to {r} of the interocular distance (90 %); look at it first.");
            }
        }
    }

    private static IEnumerable<Finding> Agreements(CheckedHead head)
    {
        foreach (Landmark landmark in head.Landmarks)
        {
            if (landmark.Source == LandmarkSource.Inferred || head.Joint(landmark.Name) is not { State: JointState.Modelled } joint)
            {
                continue;
            }

            double allowed = Apart.Value + ConfidenceRadius.Of90(landmark.Covariance) + Math.Abs(joint.Lift);
            double apart = Vector3d.Distance(joint.Position, landmark.Position);
            if (apart > allowed)
            {
                string d = apart.ToString("F2", CultureInfo.InvariantCulture);
                yield return new Finding(
                    Agreement, Severity.Warning, landmark.Name, apart, allowed, Apart.Unit,
                    $"The joint {landmark.Name} lies {d} of the interocular distance from the landmark of that name; one of them is wrong.");
            }
        }
    }
}
