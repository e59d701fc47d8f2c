using AutoPlace.Verification;

namespace AutoPlace.Calibration;

/// <summary>A classifier of places, and what it says of each place when it is trained on others.</summary>
/// <param name="Classifier">Trained on all places.</param>
/// <param name="Probabilities">For each place the probability by trees of the other folds.</param>
internal sealed record ClassifierFit(TreeClassifier Classifier, IReadOnlyList<double> Probabilities)
{
    private const int Folds = 5;

    /// <summary>Fits and cross-validates; places of one head stay together.</summary>
    /// <param name="places">Places.</param>
    /// <param name="features">Features of each.</param>
    /// <param name="isOfClass">For each whether it is of the class.</param>
    public static ClassifierFit Of(IReadOnlyList<ReadPlace> places, IReadOnlyList<double[]> features, IReadOnlyList<bool> isOfClass)
    {
        double[] sums = new double[places.Count];
        for (int fold = 0; fold < Folds; fold++)
        {
            int[] others = [.. Enumerable.Range(0, places.Count).Where(i => places[i].Number % Folds != fold)];
            TreeEnsemble trees = TreeTraining.Classify([.. others.Select(i => features[i])], [.. others.Select(i => isOfClass[i])]);
            for (int i = 0; i < sums.Length; i++)
            {
                sums[i] = places[i].Number % Folds == fold ? trees.Evaluate(features[i]) : sums[i];
            }
        }

        (double slope, double offset) = TreeTraining.Platt(sums, isOfClass);
        var classifier = new TreeClassifier(TreeTraining.Classify(features, isOfClass), slope, offset);
        return new ClassifierFit(classifier, [.. sums.Select(classifier.OfSum)]);
    }
}
