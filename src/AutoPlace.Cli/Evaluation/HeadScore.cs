using AutoPlace.Conditioning;
using AutoPlace.Export;
using AutoPlace.Geometry;

namespace AutoPlace.Cli.Evaluation;

/// <summary>How far a placement is from a person's landmarks.</summary>
/// <param name="Head">The head.</param>
/// <param name="Errors">Distance by landmark, in percent of the labelled interocular distance.</param>
/// <param name="RequiredErrors">The same for what a placement can't do without; "chin" is the nearer of pogonion and menton.</param>
/// <param name="UpDegrees">Angle between found and labelled up; null when nothing was placed.</param>
/// <param name="FrontDegrees">Angle between found and labelled front; null when nothing was placed.</param>
/// <param name="Failure">Why nothing was placed, or null.</param>
internal sealed record HeadScore(
    LabelledHead Head,
    IReadOnlyDictionary<string, double> Errors,
    IReadOnlyDictionary<string, double> RequiredErrors,
    double? UpDegrees,
    double? FrontDegrees,
    string? Failure)
{
    /// <summary>What a landmark that is labelled but left out counts for, percent of the interocular distance.</summary>
    internal const double MissingPercent = 30;

    private static readonly string[] Required =
        ["eye_centre_left", "eye_centre_right", "subnasale", "cheilion_left", "cheilion_right"];

    private static readonly string[] Chin = ["pogonion", "menton"];

    /// <summary>Compares a placement with the labels.</summary>
    internal static HeadScore Of(LabelledHead head, PlacementDocument placement)
    {
        Dictionary<string, Vector3d> placed = placement.Landmarks.ToDictionary(l => l.Name, l => l.Position, StringComparer.Ordinal);
        HeadFrame found = placement.Head.Frame;
        return Of(head, placed, AngleDegrees(head.Frame.Up, found.Up), AngleDegrees(head.Frame.Front, found.Front), null);
    }

    /// <summary>A head on which nothing was placed: every landmark counts as left out.</summary>
    internal static HeadScore Failed(LabelledHead head, string reason) => Of(head, [], null, null, reason);

    private static HeadScore Of(LabelledHead head, Dictionary<string, Vector3d> placed, double? up, double? front, string? failure)
    {
        bool scored = head.Frame.InterocularDistance > 0;
        Dictionary<string, double> errors = head.Landmarks.Where(_ => scored).ToDictionary(
            l => l.Key,
            l => placed.TryGetValue(l.Key, out Vector3d p)
                ? 100 * Vector3d.Distance(p, l.Value) / head.Frame.InterocularDistance
                : MissingPercent,
            StringComparer.Ordinal);
        Dictionary<string, double> required = Required.Where(errors.ContainsKey).ToDictionary(n => n, n => errors[n], StringComparer.Ordinal);
        double[] chin = [.. Chin.Where(errors.ContainsKey).Select(n => errors[n])];
        if (chin.Length > 0)
        {
            required.Add("chin", chin.Min());
        }

        return new HeadScore(head, errors, required, up, front, failure);
    }

    /// <summary>Angle between two directions.</summary>
    internal static double AngleDegrees(Vector3d a, Vector3d b) =>
        double.RadiansToDegrees(Math.Atan2(Vector3d.Cross(a, b).Length, Vector3d.Dot(a, b)));
}
