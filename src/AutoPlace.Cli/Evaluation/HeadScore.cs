using AutoPlace.Conditioning;
using AutoPlace.Export;
using AutoPlace.Geometry;

namespace AutoPlace.Cli.Evaluation;

/// <summary>How far a placement is from a person's landmarks.</summary>
/// <param name="Head">The head.</param>
/// <param name="Errors">Distance by landmark, in percent of the labelled interocular distance.</param>
/// <param name="RequiredErrors">The same for what a placement can't do without; "chin" is the nearer of pogonion and menton.</param>
/// <param name="Radii">90 % radius by labelled landmark that was placed, in percent of the labelled interocular distance.</param>
/// <param name="NeedsPerson">Probability that a person should look at it; null when nothing was placed.</param>
/// <param name="UpDegrees">Angle between found and labelled up; null when nothing was placed.</param>
/// <param name="FrontDegrees">Angle between found and labelled front; null when nothing was placed.</param>
/// <param name="Failure">Why nothing was placed, or null.</param>
internal sealed record HeadScore(
    LabelledHead Head,
    IReadOnlyDictionary<string, double> Errors,
    IReadOnlyDictionary<string, double> RequiredErrors,
    IReadOnlyDictionary<string, double> Radii,
    double? NeedsPerson,
    double? UpDegrees,
    double? FrontDegrees,
    string? Failure)
{
    /// <summary>What a landmark that is labelled but left out counts for, percent of the interocular distance.</summary>
    internal const double MissingPercent = 30;

    private static readonly string[] Required =
        ["eye_centre_left", "eye_centre_right", "subnasale", "cheilion_left", "cheilion_right"];

    private static readonly string[] Chin = ["pogonion", "menton"];

    /// <summary>How many of the placed landmarks' labels lie within their 90 % radius.</summary>
    internal int HeldCount => Radii.Count(r => Errors[r.Key] <= r.Value);

    /// <summary>The same, with the labels' own errors added to the radii in squares.</summary>
    internal int HeldOfUncertainLabels => Radii.Count(r => Errors[r.Key] <= double.Hypot(r.Value, 100 * Head.LabelErrors[r.Key]));

    /// <summary>Compares a placement with the labels.</summary>
    internal static HeadScore Of(LabelledHead head, PlacementDocument placement)
    {
        HeadFrame found = placement.Head.Frame;
        return Of(head, placement.Landmarks, null) with
        {
            NeedsPerson = placement.Head.NeedsPerson.Probability,
            UpDegrees = AngleDegrees(head.Frame.Up, found.Up),
            FrontDegrees = AngleDegrees(head.Frame.Front, found.Front),
        };
    }

    /// <summary>A head on which nothing was placed: every landmark counts as left out.</summary>
    internal static HeadScore Failed(LabelledHead head, string reason) => Of(head, [], reason);

    private static HeadScore Of(LabelledHead head, IReadOnlyList<PlacedLandmark> landmarks, string? failure)
    {
        Dictionary<string, PlacedLandmark> placed = landmarks.ToDictionary(l => l.Name, StringComparer.Ordinal);
        bool scored = head.Frame.InterocularDistance > 0;
        Dictionary<string, double> errors = head.Landmarks.Where(_ => scored).ToDictionary(
            l => l.Key,
            l => placed.TryGetValue(l.Key, out PlacedLandmark? p)
                ? 100 * Vector3d.Distance(p.Position, l.Value) / head.Frame.InterocularDistance
                : MissingPercent,
            StringComparer.Ordinal);
        Dictionary<string, double> required = Required.Where(errors.ContainsKey).ToDictionary(n => n, n => errors[n], StringComparer.Ordinal);
        double[] chin = [.. Chin.Where(errors.ContainsKey).Select(n => errors[n])];
        if (chin.Length > 0)
        {
            required.Add("chin", chin.Min());
        }

        Dictionary<string, double> radii = errors.Keys.Where(placed.ContainsKey).ToDictionary(
            n => n, n => 100 * placed[n].Radius90 / head.Frame.InterocularDistance, StringComparer.Ordinal);
        return new HeadScore(head, errors, required, radii, null, null, null, failure);
    }

    /// <summary>Angle between two directions.</summary>
    internal static double AngleDegrees(Vector3d a, Vector3d b) =>
        double.RadiansToDegrees(Math.Atan2(Vector3d.Cross(a, b).Length, Vector3d.Dot(a, b)));
}
