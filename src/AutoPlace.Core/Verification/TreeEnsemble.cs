namespace AutoPlace.Verification;

/// <summary>A sum of binary decision trees over a vector of features. Evaluating takes a few comparisons for each tree.</summary>
public sealed class TreeEnsemble
{
    private readonly DecisionTree[] _trees;

    /// <summary>Puts trees together.</summary>
    /// <param name="bias">What is added to the trees' sum.</param>
    /// <param name="trees">The trees.</param>
    /// <param name="featureCount">How many features they are given.</param>
    /// <exception cref="ArgumentException">A tree isn't whole, or asks for a feature that there isn't.</exception>
    public TreeEnsemble(double bias, IReadOnlyList<DecisionTree> trees, int featureCount)
    {
        ArgumentNullException.ThrowIfNull(trees);
        Bias = bias;
        _trees = [.. trees];
        FeatureCount = featureCount;
        if (!_trees.All(t => t.IsWhole(featureCount)))
        {
            throw new ArgumentException("a tree is not whole", nameof(trees));
        }
    }

    /// <summary>What is added to the trees' sum.</summary>
    public double Bias { get; }

    /// <summary>The trees.</summary>
    public IReadOnlyList<DecisionTree> Trees => _trees;

    /// <summary>How many features the trees are given.</summary>
    public int FeatureCount { get; }

    /// <summary>The sum of the trees' leaves that the features lead to.</summary>
    /// <param name="features">One number for each feature, finite.</param>
    public double Evaluate(ReadOnlySpan<double> features)
    {
        ArgumentOutOfRangeException.ThrowIfNotEqual(features.Length, FeatureCount);
        double sum = Bias;
        foreach (DecisionTree tree in _trees)
        {
            sum += tree.Evaluate(features);
        }

        return sum;
    }
}

/// <summary>A binary decision tree, its nodes in arrays. A child of at least zero is a node, another one the leaf of its complement.</summary>
/// <param name="Features">For each node the feature that it compares; the root comes first.</param>
/// <param name="Thresholds">For each node the largest value that goes left, compared in single precision.</param>
/// <param name="Left">For each node its left child; a node comes after its parent.</param>
/// <param name="Right">For each node its right child.</param>
/// <param name="Leaves">The leaves' values.</param>
public sealed record DecisionTree(
    IReadOnlyList<int> Features,
    IReadOnlyList<float> Thresholds,
    IReadOnlyList<int> Left,
    IReadOnlyList<int> Right,
    IReadOnlyList<double> Leaves)
{
    internal bool IsWhole(int featureCount)
    {
        int nodes = Features.Count;
        return Thresholds.Count == nodes && Left.Count == nodes && Right.Count == nodes && Leaves.Count == nodes + 1
            && Features.All(f => f >= 0 && f < featureCount)
            && Enumerable.Range(0, nodes).All(n => IsChild(Left[n], n) && IsChild(Right[n], n));

        bool IsChild(int child, int parent) => child >= 0 ? child > parent && child < nodes : ~child < Leaves.Count;
    }

    internal double Evaluate(ReadOnlySpan<double> features)
    {
        int node = Features.Count > 0 ? 0 : ~0;
        while (node >= 0)
        {
            node = (float)features[Features[node]] <= Thresholds[node] ? Left[node] : Right[node];
        }

        return Leaves[~node];
    }
}
