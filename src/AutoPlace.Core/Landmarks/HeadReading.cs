using AutoPlace.Conditioning;
using AutoPlace.Geometry;
using AutoPlace.Rendering;

namespace AutoPlace.Landmarks;

/// <summary>What two passes of looking at a head found; all in the head frame, interocular distances, unless said.</summary>
public sealed record HeadReading
{
    /// <summary>Where the head is in the file.</summary>
    public required HeadFrame Frame { get; init; }

    /// <summary>Landmarks in the network's order.</summary>
    public required IReadOnlyList<Landmark> Landmarks { get; init; }

    /// <summary>Dense correspondences of all views.</summary>
    public required IReadOnlyList<Correspondence> Correspondences { get; init; }

    /// <summary>Robust similarity from the atlas.</summary>
    public required SimilarityTransform AtlasToHead { get; init; }

    /// <summary>Views of both passes, with what the network said of them.</summary>
    public required IReadOnlyList<ViewObservation> Observations { get; init; }
}

/// <summary>Reads landmarks and correspondences off a head: a look from the front, then from the sides and closer in the frame found.</summary>
public static class HeadReader
{
    /// <summary>The front is looked at again when that turned the frame by more than about this angle (cosine of 4 degrees).</summary>
    private const double Settled = 0.9976;

    private const int MostExtraRounds = 2;

    /// <summary>Reads a head.</summary>
    /// <param name="scan">The scan.</param>
    /// <param name="detector">Looks at it.</param>
    /// <param name="found">Frame that the head finder found.</param>
    /// <param name="cancellation">Stops between views.</param>
    public static HeadReading Read(ScanSurface scan, LandmarkDetector detector, HeadFrame found, CancellationToken cancellation)
    {
        ArgumentNullException.ThrowIfNull(scan);
        ArgumentNullException.ThrowIfNull(detector);
        IReadOnlyList<OrthographicView> whole = ViewRing.Whole();
        IReadOnlyList<ViewObservation> front;
        HeadFrame frame = found;
        int extraRounds = 0;
        do
        {
            found = frame;
            front = detector.Observe(found, [whole[0]], cancellation);
            frame = Turned(scan, found, front);
        }
        while (extraRounds++ < MostExtraRounds && Vector3d.Dot(frame.Front, found.Front) + Vector3d.Dot(frame.Up, found.Up) < 2 * Settled);

        IReadOnlyList<ViewObservation> rest = detector.Observe(frame, [.. whole.Skip(1), .. ViewRing.Close()], cancellation);
        ViewObservation[] both = [.. front.Select(o => o with { HeadView = frame.InHead(o.FileView) }), .. rest];
        HeadFrame final = Reframe(scan, frame, both);
        List<Correspondence> correspondences = ViewCorrespondences.Of(final, scan.Mesh, both);
        SimilarityTransform atlasToHead = FrameEstimator.Estimate(correspondences)?.AtlasToHead ?? SimilarityTransform.Identity;
        return new HeadReading
        {
            Frame = final,
            Landmarks = [.. LandmarkCombination.Combine(frame, scan.Mesh, both).Select(l => l.Reframed(frame, final))],
            Correspondences = correspondences,
            AtlasToHead = atlasToHead,
            Observations = both,
        };
    }

    // Orientation by dense correspondence; origin and unit by the eye centres, which define the head frame.
    private static HeadFrame Reframe(ScanSurface scan, HeadFrame frame, IReadOnlyList<ViewObservation> observations)
    {
        HeadFrame turned = Turned(scan, frame, observations);
        IReadOnlyList<Landmark> landmarks = LandmarkCombination.Combine(frame, scan.Mesh, observations);
        Landmark left = landmarks[LandmarkNames.IndexOf("eye_centre_left")];
        Landmark right = landmarks[LandmarkNames.IndexOf("eye_centre_right")];
        return left.Source == LandmarkSource.Inferred || right.Source == LandmarkSource.Inferred
            ? turned
            : turned.WithEyes(frame.ToFile(left.Position), frame.ToFile(right.Position));
    }

    private static HeadFrame Turned(ScanSurface scan, HeadFrame frame, IReadOnlyList<ViewObservation> observations) =>
        FrameEstimator.Estimate(ViewCorrespondences.Of(frame, scan.Mesh, observations)) is { } fit
            ? FrameEstimator.Reframe(frame, fit.AtlasToHead)
            : frame;
}
