using AutoPlace.Export;
using AutoPlace.Landmarks;
using AutoPlace.Registration;
using AutoPlace.Registration.Correcting;
using AutoPlace.Template;
using AutoPlace.Verification;

namespace AutoPlace;

/// <summary>
/// A placed head with other corrections: solved and checked anew, without looking at it again. The result depends on the
/// head and the corrections alone, not on what was corrected before.
/// </summary>
public static class CorrectedPlacement
{
    /// <summary>The placement with corrections in place of those that it has.</summary>
    /// <param name="placed">A placement that the pipeline made.</param>
    /// <param name="corrections">All corrections that hold from now on, head frame.</param>
    /// <param name="cancellation">Checked before each stage.</param>
    /// <exception cref="ArgumentException">The placement was made elsewhere and can't be corrected.</exception>
    public static PlacementResult Of(PlacementResult placed, Corrections corrections, CancellationToken cancellation)
    {
        CorrectableHead automatic = Correctable(placed);
        ArgumentNullException.ThrowIfNull(corrections);
        var leftOut = placed.Template.Lattice.Joints.Select(joint => joint.Name).ToHashSet(StringComparer.Ordinal);
        IReadOnlyList<CorrectionFit> fits = CorrectionFitting.Fit(automatic, corrections, sameFile: true).Fits;
        return Solved(placed, corrections, [.. CorrectionCheck.Run(fits, leftOut)], cancellation);
    }

    /// <summary>The placement with corrections that were made on another version of the head, or elsewhere on this one.</summary>
    /// <param name="placed">A placement that the pipeline made.</param>
    /// <param name="kept">Says what to keep: <see cref="PlacementOptions.Corrections"/>, <see cref="PlacementOptions.Corrected"/>.</param>
    /// <param name="cancellation">Checked before each stage.</param>
    /// <exception cref="PlacementFormatException">A placement to take corrections from is one of another head or template.</exception>
    public static PlacementResult Keeping(PlacementResult placed, PlacementOptions kept, CancellationToken cancellation)
    {
        // What differs from the program's own placement is a correction, not what differs from an edited one.
        CorrectableHead automatic = Correctable(placed).With(Corrections.None);
        ArgumentNullException.ThrowIfNull(kept);
        KeptCorrections found = KeptCorrections.Of(kept, placed.Scan, placed.Frame, placed.Template, automatic);
        return Solved(placed, found.Corrections, found.Findings, cancellation);
    }

    /// <summary>
    /// The checks on a placement from a file, whoever made it. Frame, skin, loops and landmarks are those of the head itself; only
    /// the landmarks that a person set come from the file.
    /// </summary>
    /// <param name="seen">The head, placed without corrections.</param>
    /// <param name="document">What the file says.</param>
    /// <param name="template">The template that it was made with, or null when that isn't at hand.</param>
    public static IReadOnlyList<Finding> Judge(PlacementResult seen, PlacementDocument document, TemplateHead? template)
    {
        ArgumentNullException.ThrowIfNull(seen);
        LatticePlacement placement = FileCoordinates.ToHeadFrame(document, template, seen.Frame);
        if (seen.Correctable is not { } automatic)
        {
            return PlacementChecks.Run(placement.OnLoopsOf(seen.Placement), seen.HeadMesh, seen.Skin, seen.Landmarks);
        }

        Landmark[] locked = [.. FileCoordinates.LandmarksToHeadFrame(document, seen.Frame).Where(l => l.Source == LandmarkSource.Lock)];
        Corrections set = CorrectionDifferences.Moved(automatic, locked);
        CorrectableHead laid = automatic.With(set);
        return PlacementChecks.Run(
            laid.OnSkin(placement).OnLoopsOf(laid.Automatic), seen.HeadMesh, seen.Skin, laid.Landmarks(seen.Landmarks, set));
    }

    /// <summary>A corrected placement with calibrated radii, and what is known of it beside its joints.</summary>
    internal static (LatticePlacement Placement, IReadOnlyList<Landmark> Landmarks, IReadOnlyList<Finding> Findings) Check(
        HeadConfidence confidence, KeptCorrections kept, CorrectableHead head, LatticePlacement placement, Geometry.BoundingVolumeHierarchy skin)
    {
        IReadOnlyList<Landmark> landmarks = head.Landmarks(confidence.Landmarks, kept.Corrections);
        return (confidence.Calibrated(placement), landmarks, PlacementChecks.Sorted(PlacementChecks.Run(placement, head.HeadMesh, skin, landmarks), kept.Findings));
    }

    private static PlacementResult Solved(
        PlacementResult placed, Corrections corrections, IReadOnlyList<Finding> said, CancellationToken cancellation)
    {
        var clock = new StageClock(null, cancellation);
        CorrectableHead head = clock.Time("Registration", () => Correctable(placed).With(corrections));
        LatticePlacement solved = clock.Time("Registration", () => head.Solve(corrections));
        (LatticePlacement placement, IReadOnlyList<Landmark> landmarks, IReadOnlyList<Finding> findings) = clock.Time("Verification", () => Check(
            placed.Confidence!, new KeptCorrections(corrections, said), head, solved, placed.Skin));
        return placed with
        {
            NeedsPerson = ReviewNeed.Judge(placed.Agreement, placed.Confidence!, landmarks, findings, placement.Joints),
            Landmarks = landmarks,
            Placement = placement,
            Correctable = head,
            Corrections = corrections,
            Findings = findings,
            Timings = clock.Timings,
        };
    }

    private static CorrectableHead Correctable(PlacementResult placed)
    {
        ArgumentNullException.ThrowIfNull(placed);
        return placed is { Correctable: { } head, Confidence: not null }
            ? head
            : throw new ArgumentException("The placement was made elsewhere.", nameof(placed));
    }
}
