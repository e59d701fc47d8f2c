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
    /// <summary>What the mirrored view shows of the mirrored head: left and right landmarks change names.</summary>
    public ViewPrediction Mirrored()
    {
        var mirrored = new LandmarkPrediction[Landmarks.Count];
        for (int i = 0; i < mirrored.Length; i++)
        {
            LandmarkPrediction other = Landmarks[LandmarkNames.IndexOf(LandmarkNames.Mirror(LandmarkNames.All[i]))];
            mirrored[i] = other with { X = ModelContract.InputSize - other.X };
        }

        return new ViewPrediction(mirrored, Facing, Dense.Mirrored());
    }
}
