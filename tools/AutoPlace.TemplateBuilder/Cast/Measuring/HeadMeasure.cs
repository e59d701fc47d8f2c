using AutoPlace.Geometry;
using AutoPlace.Landmarks;
using AutoPlace.Verification;

namespace AutoPlace.TemplateBuilder.Cast.Measuring;

/// <summary>How near a placement comes to the truth. Errors are in percent of the true interocular distance.</summary>
internal sealed record HeadMeasure
{
    private static readonly string[] MouthInterior = ["tongue", "teeth"];

    /// <summary>The truth.</summary>
    public required TruthFile Truth { get; init; }

    /// <summary>Error of each joint, the worst first.</summary>
    public required IReadOnlyList<(string Joint, string Region, double Error)> Errors { get; init; }

    /// <summary>Offsets of one side: known, found, and the distance between both.</summary>
    public required IReadOnlyList<(string Joint, Vector3d Known, Vector3d Found, double Error)> Offsets { get; init; }

    /// <summary>Findings of severity error.</summary>
    public required IReadOnlyList<string> Faults { get; init; }

    /// <summary>How the skin joints float over the surface.</summary>
    public required SurfaceClearance Clearance { get; init; }

    /// <summary>Mean error of all joints.</summary>
    public double Mean => Errors.Average(e => e.Error);

    /// <summary>Mean error of tongue and teeth, which lie behind closed lips on most heads.</summary>
    public double MouthInteriorMean => Errors.Where(e => MouthInterior.Contains(e.Region)).Average(e => e.Error);

    /// <summary>The larger error of the two eyes' centres.</summary>
    public double EyeCentre => Errors.Where(e => e.Joint.StartsWith("eye_centre", StringComparison.Ordinal)).Max(e => e.Error);

    /// <summary>The error that a share of the joints doesn't exceed.</summary>
    public double Quantile(double share) => Errors[Errors.Count - 1 - (int)Math.Round(share * (Errors.Count - 1))].Error;

    /// <summary>Compares a placement with the truth.</summary>
    public static HeadMeasure Of(TruthFile truth, PlacementResult result)
    {
        double percent = 100 / truth.InterocularDistance;
        Dictionary<string, (string Region, Vector3d At)> found = result.Placement.Joints.ToDictionary(
            joint => joint.Joint.Name, joint => (joint.Joint.Region ?? string.Empty, result.Frame.ToFile(joint.Position)), StringComparer.Ordinal);
        return new HeadMeasure
        {
            Truth = truth,
            Errors = [.. truth.Joints.Where(joint => found.ContainsKey(joint.Key))
                .Select(joint => (joint.Key, found[joint.Key].Region, percent * Vector3d.Distance(found[joint.Key].At, joint.Value))).OrderByDescending(e => e.Item3)],
            Offsets = [.. truth.KnownOffsets.Keys.Select(joint =>
            {
                Vector3d known = Offset(truth, joint, name => truth.Joints[name]), seen = Offset(truth, joint, name => found[name].At);
                return (joint, known * percent, seen * percent, percent * Vector3d.Distance(known, seen));
            })],
            Clearance = SurfaceClearance.Of(result),
            Faults = [.. result.Findings.Where(finding => finding.Severity == Severity.Error).Select(finding => finding.Message)],
        };
    }

    // From the mirror image of the twin on the other side; of a midline joint, from the plane.
    private static Vector3d Offset(TruthFile truth, string joint, Func<string, Vector3d> at)
    {
        string twin = LandmarkNames.Mirror(joint);
        Vector3d position = at(joint), other = at(twin);
        Vector3d mirrored = other - (truth.Left * (2 * Vector3d.Dot(other - truth.Origin, truth.Left)));
        return twin == joint ? (position - mirrored) * 0.5 : position - mirrored;
    }
}
