namespace AutoPlace.Landmarks;

/// <summary>Where a view shows a landmark.</summary>
/// <param name="X">Continuous input pixel to the right.</param>
/// <param name="Y">Continuous input pixel down.</param>
/// <param name="Sigma">Standard deviation of each pixel coordinate.</param>
/// <param name="Presence">Probability in [0, 1] that the head has the feature and the view shows it.</param>
public readonly record struct LandmarkPrediction(double X, double Y, double Sigma, double Presence);

/// <summary>What the network says of one view.</summary>
/// <param name="Landmarks">One for each name in <see cref="LandmarkNames.All"/>, in that order.</param>
/// <param name="Facing">Probability in [0, 1] that the view shows a head from the front in about this crop.</param>
/// <param name="Dense">Correspondence and class of each cell.</param>
public sealed record ViewPrediction(IReadOnlyList<LandmarkPrediction> Landmarks, double Facing, DenseMap Dense)
{
    private static readonly int[] MirrorIndices =
        [.. LandmarkNames.All.Select(n => LandmarkNames.IndexOf(LandmarkNames.Mirror(n)))];

    /// <summary>The prediction of the mirrored image, seen in the image itself.</summary>
    /// <param name="imageSize">Pixels a side of the input.</param>
    public ViewPrediction Mirrored(int imageSize) => new(
        [.. MirrorIndices.Select(i => Landmarks[i] with { X = imageSize - Landmarks[i].X })], Facing, Dense.Mirrored());

    /// <summary>Mean of two predictions of the same view; positions are weighted by their inverse variances.</summary>
    public static ViewPrediction Average(ViewPrediction a, ViewPrediction b)
    {
        ArgumentNullException.ThrowIfNull(a);
        ArgumentNullException.ThrowIfNull(b);
        var landmarks = new LandmarkPrediction[a.Landmarks.Count];
        for (int i = 0; i < landmarks.Length; i++)
        {
            (LandmarkPrediction p, LandmarkPrediction q) = (a.Landmarks[i], b.Landmarks[i]);
            double wp = 1 / (p.Sigma * p.Sigma), wq = 1 / (q.Sigma * q.Sigma), sum = wp + wq;

            // What the two disagree by adds to what each of them says it doesn't know.
            double dx = p.X - q.X, dy = p.Y - q.Y;
            double variance = (2 / sum) + (wp * wq / (sum * sum) * 0.5 * ((dx * dx) + (dy * dy)));
            landmarks[i] = new LandmarkPrediction(
                ((p.X * wp) + (q.X * wq)) / sum,
                ((p.Y * wp) + (q.Y * wq)) / sum,
                Math.Sqrt(variance),
                0.5 * (p.Presence + q.Presence));
        }

        return new ViewPrediction(landmarks, 0.5 * (a.Facing + b.Facing), DenseMap.Average(a.Dense, b.Dense));
    }
}
