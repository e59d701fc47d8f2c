using AutoPlace.Conditioning;
using AutoPlace.Export;
using AutoPlace.Geometry;

namespace AutoPlace.Cli.Evaluation;

/// <summary>How far a placement is from a person's landmarks.</summary>
/// <param name="Head">The head.</param>
/// <param name="Errors">Distance by landmark, in percent of the labelled interocular distance.</param>
/// <param name="RequiredErrors">The same for what a placement can't do without; "chin" is the nearer of pogonion and menton.</param>
/// <param name="FrameAngleDegrees">Angle of the rotation between found and labelled frame; null when nothing was placed.</param>
/// <param name="Failure">Why nothing was placed, or null.</param>
internal sealed record HeadScore(
    LabelledHead Head,
    IReadOnlyDictionary<string, double> Errors,
    IReadOnlyDictionary<string, double> RequiredErrors,
    double? FrameAngleDegrees,
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
        return Of(head, placed, AngleDegrees(head.Frame, placement.Head.Frame), null);
    }

    /// <summary>A head on which nothing was placed: every landmark counts as left out.</summary>
    internal static HeadScore Failed(LabelledHead head, string reason) => Of(head, [], null, reason);

    private static HeadScore Of(LabelledHead head, Dictionary<string, Vector3d> placed, double? angle, string? failure)
    {
        Dictionary<string, double> errors = head.Landmarks.ToDictionary(
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

        return new HeadScore(head, errors, required, angle, failure);
    }

    /// <summary>Angle between two frames; 180 where one is mirrored and the other isn't.</summary>
    internal static double AngleDegrees(HeadFrame a, HeadFrame b)
    {
        Matrix3d aToB = Axes(b) * Axes(a).Transposed();
        return aToB.Determinant < 0 ? 180 : Template.Rotation3d.AngleDegrees(
            Template.Rotation3d.Identity, Template.Rotation3d.FromMatrix(aToB));
    }

    private static Matrix3d Axes(HeadFrame frame) => Matrix3d.FromColumns(frame.Left, frame.Up, frame.Front);
}
