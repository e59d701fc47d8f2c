using AutoPlace.Calibration;
using AutoPlace.Verification;
using Microsoft.ML;
using Microsoft.ML.Data;
using Microsoft.ML.Trainers.FastTree;
using Xunit;

namespace AutoPlace.Tests.Calibration;

/// <summary>The product evaluates trees as Microsoft.ML does.</summary>
public sealed class TreeTrainingTests
{
    private const int Count = 600;

    private static readonly double[][] Features = Examples(7);
    private static readonly double[] Targets = [.. Features.Select(f => Math.Sin(3 * f[0]) + (f[1] > 0.4 ? 1 : 0) + (f[2] * f[3]))];

    [Fact]
    public void Exported_trees_say_what_Microsoft_ML_predicts()
    {
        var ml = new MLContext(1);
        IDataView data = ml.Data.LoadFromEnumerable(
            Features.Select((f, i) => new TreeTraining.Example(f, Targets[i])), TreeTraining.Example.Schema(4));
        RegressionPredictionTransformer<FastTreeRegressionModelParameters> model =
            ml.Regression.Trainers.FastTree(numberOfLeaves: 12, numberOfTrees: 40).Fit(data);

        TreeEnsemble trees = TreeTraining.Exported(model.Model.TrainedTreeEnsemble, 4);

        float[] predicted = [.. ml.Data.CreateEnumerable<Prediction>(model.Transform(data), reuseRowObject: false).Select(p => p.Score)];
        Assert.True(predicted.Max() - predicted.Min() > 1);
        for (int i = 0; i < Count; i++)
        {
            Assert.Equal(predicted[i], trees.Evaluate(Features[i]), 1e-4);
        }
    }

    [Fact]
    public void Regression_learns_and_is_the_same_each_time()
    {
        TreeEnsemble first = TreeTraining.Regress(Features, Targets), second = TreeTraining.Regress(Features, Targets);
        double[] errors = [.. Features.Select((f, i) => Math.Abs(first.Evaluate(f) - Targets[i]))];

        Assert.All(Features, f => Assert.Equal(first.Evaluate(f), second.Evaluate(f)));
        Assert.True(errors.Average() < Targets.Average(t => Math.Abs(t - Targets.Average())) / 2);
    }

    [Fact]
    public void Platt_makes_scores_probabilities()
    {
        // The scores' true log odds are 2 s - 1.
        var random = new Random(3);
        double[] scores = [.. Enumerable.Range(0, 20_000).Select(_ => (4 * random.NextDouble()) - 2)];
        bool[] isOfClass = [.. scores.Select(s => random.NextDouble() < 1 / (1 + Math.Exp(1 - (2 * s))))];

        (double slope, double offset) = TreeTraining.Platt(scores, isOfClass);

        // Three standard errors of a logistic regression on so many are 0.1.
        Assert.Equal(2, slope, 0.1);
        Assert.Equal(-1, offset, 0.1);
    }

    private static double[][] Examples(int seed)
    {
        var random = new Random(seed);
        return [.. Enumerable.Range(0, Count).Select(_ => Enumerable.Range(0, 4).Select(_ => random.NextDouble()).ToArray())];
    }

    private sealed class Prediction
    {
        public float Score { get; set; }
    }
}
