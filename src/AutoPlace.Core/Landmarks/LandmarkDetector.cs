using System.Buffers;
using AutoPlace.Conditioning;
using AutoPlace.Rendering;

namespace AutoPlace.Landmarks;

/// <summary>Looks at a scan through head frames, with the landmark network.</summary>
public sealed class LandmarkDetector
{
    // Sideways component of the direction to the viewer from which on a view is a side view.
    private const float LeastSideways = 0.1f;

    private readonly ScanSurface _scan;
    private readonly LandmarkNetwork _network;

    /// <summary>Prepares the looking.</summary>
    /// <param name="scan">The scan.</param>
    /// <param name="network">The network; may be shared between threads.</param>
    public LandmarkDetector(ScanSurface scan, LandmarkNetwork network)
    {
        ArgumentNullException.ThrowIfNull(scan);
        ArgumentNullException.ThrowIfNull(network);
        _scan = scan;
        _network = network;
    }

    /// <summary>
    /// Looks once, from the front, through each candidate. Agreement is how much the network takes the view for a
    /// head's front, times the share of its correspondences that one similarity explains.
    /// </summary>
    public FrameScore[] Score(IReadOnlyList<HeadFrame> candidates, CancellationToken cancellation)
    {
        ArgumentNullException.ThrowIfNull(candidates);
        OrthographicView front = ViewRing.Whole()[0];
        var scores = new FrameScore[candidates.Count];
        ForEach(scores.Length, Score, cancellation);
        return scores;

        void Score(int i)
        {
            ViewObservation seen = Look(candidates[i], front);
            var fit = FrameEstimator.Estimate(ViewCorrespondences.Of(candidates[i], _scan.Mesh, [seen]));
            scores[i] = fit is { } f
                ? new FrameScore(seen.Prediction.Facing * f.Agreement, candidates[i], FrameEstimator.NextLook(candidates[i], f.AtlasToHead))
                : new FrameScore(0, candidates[i], candidates[i]);
        }
    }

    /// <summary>Draws views of the head and asks the network about each of them.</summary>
    /// <param name="frame">Where the head is.</param>
    /// <param name="headViews">Views in the head frame.</param>
    /// <param name="cancellation">Stops between views.</param>
    public IReadOnlyList<ViewObservation> Observe(
        HeadFrame frame, IReadOnlyList<OrthographicView> headViews, CancellationToken cancellation)
    {
        ArgumentNullException.ThrowIfNull(headViews);
        var seen = new ViewObservation[headViews.Count];
        ForEach(seen.Length, i => seen[i] = Look(frame, headViews[i]), cancellation);
        return seen;
    }

    private ViewObservation Look(HeadFrame frame, OrthographicView headView)
    {
        OrthographicView view = frame.InFile(headView);
        float[] rented = ArrayPool<float>.Shared.Rent(ViewTensor.Length(view.Size));
        Span<float> planes = rented.AsSpan(0, ViewTensor.Length(view.Size));
        VisibilityBuffer buffer = _scan.Draw(view, planes);
        ViewPrediction prediction = Predict(planes, headView);
        ArrayPool<float>.Shared.Return(rented);
        return new ViewObservation(headView, view, buffer, prediction);
    }

    // The network sees all side views from the subject's left, so that both sides of a head are read alike.
    private ViewPrediction Predict(Span<float> planes, in OrthographicView headView)
    {
        if (headView.Toward.X >= -LeastSideways)
        {
            return _network.Predict(planes);
        }

        ViewTensor.Mirror(planes, headView.Size);
        return _network.Predict(planes).Mirrored();
    }

    /// <summary>One view after the other on each core; what a view says doesn't depend on the others.</summary>
    /// <param name="count">Number of views.</param>
    /// <param name="body">Looks at one.</param>
    /// <param name="cancellation">Stops between views.</param>
    internal static void ForEach(int count, Action<int> body, CancellationToken cancellation)
    {
        var options = new ParallelOptions { CancellationToken = cancellation, MaxDegreeOfParallelism = Environment.ProcessorCount };
        Parallel.For(0, count, options, body);
    }
}
