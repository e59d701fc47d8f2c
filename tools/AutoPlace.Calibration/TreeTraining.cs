using AutoPlace.Verification;
using Microsoft.ML;
using Microsoft.ML.Calibrators;
using Microsoft.ML.Data;
using Microsoft.ML.Trainers.FastTree;

namespace AutoPlace.Calibration;

/// <summary>Boosted trees by Microsoft.ML, given out as the product evaluates them. The same examples give the same trees.</summary>
internal static class TreeTraining
{
    private const int Seed = 1;

    /// <summary>Digits to which leaves are rounded: what a sum of hundreds loses is far below anything measured.</summary>
    private const int LeafDigits = 7;

    /// <summary>Trees whose sum is close to the targets in the mean square.</summary>
    /// <param name="features">A row for each example, all of one length.</param>
    /// <param name="targets">A number for each example.</param>
    public static TreeEnsemble Regress(IReadOnlyList<double[]> features, IReadOnlyList<double> targets)
    {
        var ml = new MLContext(Seed);
        IDataView data = ml.Data.LoadFromEnumerable(features.Select((f, i) => new Example(f, targets[i])), Example.Schema(features[0].Length));
        var trainer = ml.Regression.Trainers.FastTree(new FastTreeRegressionTrainer.Options
        {
            NumberOfTrees = 250,
            NumberOfLeaves = 24,
            MinimumExampleCountPerLeaf = 150,
            LearningRate = 0.06,
            FeatureFraction = 0.6,
            Seed = Seed,
            FeatureSelectionSeed = Seed,
        });
        return Exported(trainer.Fit(data).Model.TrainedTreeEnsemble, features[0].Length);
    }

    /// <summary>Trees whose sum is the larger the likelier an example is of the class.</summary>
    /// <param name="features">A row for each example, all of one length.</param>
    /// <param name="isOfClass">For each example whether it is of the class.</param>
    public static TreeEnsemble Classify(IReadOnlyList<double[]> features, IReadOnlyList<bool> isOfClass)
    {
        var ml = new MLContext(Seed);
        IDataView data = ml.Data.LoadFromEnumerable(
            features.Select((f, i) => new ClassExample(f, isOfClass[i])), Example.Schema(features[0].Length, typeof(ClassExample)));
        var trainer = ml.BinaryClassification.Trainers.FastTree(new FastTreeBinaryTrainer.Options
        {
            NumberOfTrees = 200,
            NumberOfLeaves = 4,
            MinimumExampleCountPerLeaf = 30,
            LearningRate = 0.03,
            FeatureFraction = 0.2,
            Seed = Seed,
            FeatureSelectionSeed = Seed,
        });
        return Exported(trainer.Fit(data).Model.SubModel.TrainedTreeEnsemble, features[0].Length);
    }

    /// <summary>Slope and offset of a logistic function that makes sums of trees, of examples that they weren't trained on, a probability.</summary>
    /// <param name="sums">Sums.</param>
    /// <param name="isOfClass">For each whether it is of the class.</param>
    public static (double Slope, double Offset) Platt(IReadOnlyList<double> sums, IReadOnlyList<bool> isOfClass)
    {
        var ml = new MLContext(Seed);
        IDataView data = ml.Data.LoadFromEnumerable(sums.Select((s, i) => new ScoredExample { Score = (float)s, Label = isOfClass[i] }));
        ISingleFeaturePredictionTransformer<PlattCalibrator> fitted = ml.BinaryClassification.Calibrators.Platt().Fit(data);

        // There the logistic function's argument has the other sign.
        return (-fitted.Model.Slope, -fitted.Model.Offset);
    }

    /// <summary>Trees as the product evaluates them.</summary>
    internal static TreeEnsemble Exported(RegressionTreeEnsemble trees, int featureCount) => new(
        trees.Bias,
        [.. trees.Trees.Select((t, i) => new DecisionTree(
            [.. t.NumericalSplitFeatureIndexes],
            [.. t.NumericalSplitThresholds],
            [.. t.LeftChild],
            [.. t.RightChild],
            [.. t.LeafValues.Select(v => Math.Round(trees.TreeWeights[i] * v, LeafDigits))]))],
        featureCount);

    /// <summary>An example with a number.</summary>
    internal sealed class Example(double[] features, double target)
    {
        public float Label { get; } = (float)target;

        public float[] Features { get; } = [.. features.Select(f => (float)f)];

        /// <summary>The schema of examples with so many features.</summary>
        public static SchemaDefinition Schema(int features, Type? type = null)
        {
            var schema = SchemaDefinition.Create(type ?? typeof(Example));
            schema[nameof(Features)].ColumnType = new VectorDataViewType(NumberDataViewType.Single, features);
            return schema;
        }
    }

    private sealed class ClassExample(double[] features, bool isOfClass)
    {
        public bool Label { get; } = isOfClass;

        public float[] Features { get; } = [.. features.Select(f => (float)f)];
    }

    private sealed class ScoredExample
    {
        public float Score { get; init; }

        public bool Label { get; init; }
    }
}
