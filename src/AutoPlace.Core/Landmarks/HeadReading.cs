using AutoPlace.Conditioning;
using AutoPlace.Geometry;
using AutoPlace.Rendering;

namespace AutoPlace.Landmarks;

/// <summary>What two passes of looking at a head found; all in the head frame, interocular distances, unless said.</summary>
public sealed record HeadReading
{
    /// <summary>
    /// Likeness below which what one look took for a head is none. Heads of other origin and the demonstration heads have
    /// 0.80 and more, of 1,017 generated things that are none one 0.64, the others 0.26 and less at every place that was read.
    /// </summary>
    public const double LeastLikeness = 0.6;

    /// <summary>... where a person says which way its top and its face are: the likeliest place is taken down to this.</summary>
    public const double LeastLikenessWhereTold = 0.2;

    /// <summary>Where the head is in the file.</summary>
    public required HeadFrame Frame { get; init; }

    /// <summary>Landmarks in the network's order.</summary>
    public required IReadOnlyList<Landmark> Landmarks { get; init; }

    /// <summary>Dense correspondences of all views.</summary>
    public required IReadOnlyList<Correspondence> Correspondences { get; init; }

    /// <summary>Views of both passes, in <see cref="ViewFrame"/>, with what the network said of them.</summary>
    public required IReadOnlyList<ViewObservation> Observations { get; init; }

    /// <summary>Where the head was taken to be when it was looked at.</summary>
    public required HeadFrame ViewFrame { get; init; }

    /// <summary>
    /// How much the views, from the front, from both sides and closer, are taken for those of a head: mean probability,
    /// in [0, 1].
    /// </summary>
    public double Likeness => Observations.Average(o => o.Prediction.Facing);

    /// <summary>How many of its landmarks the head shows; a mask, or one that is half hidden, shows fewer.</summary>
    public int Shown => Landmarks.Count(l => l.Source != LandmarkSource.Inferred);
}

/// <summary>Reads landmarks and correspondences off a head, from the front, the sides and closer, in a frame that looks from the front have settled.</summary>
public static class HeadReader
{
    /// <summary>The front is looked at again when the last look turned the frame by more than about this angle (cosine of 4 degrees).</summary>
    private const double Settled = 0.9976;

    /// <summary>... or moved it by more than this, interocular distances, or changed its unit by more than this share.</summary>
    private const double SettledPlace = 0.15, SettledUnit = 0.06;

    private const int MostExtraLooks = 2;

    /// <summary>Reads a head.</summary>
    /// <param name="scan">The scan.</param>
    /// <param name="detector">Looks at it.</param>
    /// <param name="found">The last look of the head finder.</param>
    /// <param name="face">The mean face, which settles the frame.</param>
    /// <param name="cancellation">Stops between views.</param>
    public static HeadReading Read(
        ScanSurface scan, LandmarkDetector detector, FrameScore found, MeanFace face, CancellationToken cancellation)
    {
        ArgumentNullException.ThrowIfNull(scan);
        ArgumentNullException.ThrowIfNull(detector);
        ArgumentNullException.ThrowIfNull(face);
        IReadOnlyList<OrthographicView> whole = ViewRing.Whole();
        (HeadFrame last, HeadFrame frame) = (found.Candidate, found.Refined);
        for (int look = 0; look < MostExtraLooks && !IsSettled(last, frame); look++)
        {
            IReadOnlyList<ViewObservation> front = detector.Observe(frame, [whole[0]], cancellation);
            (last, frame) = (frame, FrameEstimator.Estimate(ViewCorrespondences.Of(frame, scan.Mesh, front)) is { } seen
                ? FrameEstimator.NextLook(frame, seen.AtlasToHead)
                : frame);
        }

        frame = face.Settle(frame, scan.Mesh);
        return Of(scan, frame, detector.Observe(frame, [.. whole, .. ViewRing.Close()], cancellation));
    }

    /// <summary>What views of a head say together.</summary>
    /// <param name="scan">The scan.</param>
    /// <param name="frame">Where the head was taken to be when it was looked at.</param>
    /// <param name="views">The views, in that frame.</param>
    public static HeadReading Of(ScanSurface scan, HeadFrame frame, IReadOnlyList<ViewObservation> views)
    {
        ArgumentNullException.ThrowIfNull(scan);
        List<Correspondence> correspondences = ViewCorrespondences.Of(frame, scan.Mesh, views);
        IReadOnlyList<Landmark> landmarks = LandmarkCombination.Combine(frame, scan.Mesh, views);
        HeadFrame turned = FrameEstimator.Estimate(correspondences) is { } fit ? FrameEstimator.Reframe(frame, fit.AtlasToHead) : frame;
        HeadFrame final = WithEyes(turned, frame, landmarks);
        return new HeadReading
        {
            Frame = final,
            Landmarks = [.. landmarks.Select(l => l.Reframed(frame, final))],
            Correspondences = [.. correspondences.Select(c => c.Reframed(frame, final))],
            Observations = views,
            ViewFrame = frame,
        };
    }

    private static bool IsSettled(HeadFrame last, HeadFrame frame) =>
        Vector3d.Dot(frame.Front, last.Front) + Vector3d.Dot(frame.Up, last.Up) >= 2 * Settled
        && Vector3d.Distance(frame.Origin, last.Origin) <= SettledPlace * frame.InterocularDistance
        && Math.Abs(frame.InterocularDistance - last.InterocularDistance) <= SettledUnit * frame.InterocularDistance;

    // The eye centres define origin and unit of the head frame, where they were seen; they are given in the earlier frame.
    private static HeadFrame WithEyes(HeadFrame turned, HeadFrame earlier, IReadOnlyList<Landmark> landmarks)
    {
        Landmark left = landmarks[LandmarkNames.IndexOf("eye_centre_left")];
        Landmark right = landmarks[LandmarkNames.IndexOf("eye_centre_right")];
        return left.Source == LandmarkSource.Inferred || right.Source == LandmarkSource.Inferred
            ? turned
            : turned.WithEyes(earlier.ToFile(left.Position), earlier.ToFile(right.Position));
    }
}
