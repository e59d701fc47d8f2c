namespace AutoPlace.Geometry;

/// <summary>
/// Weights for fits by iterated reweighting. The scale is 1.4826 times the median absolute residual, which is the
/// standard deviation of normal noise.
/// </summary>
internal sealed class RobustWeights
{
    private const double HuberLimit = 1.345;
    private const double TukeyLimit = 4.685;
    private const double MedianToDeviation = 1.4826;

    /// <summary>Rounds with Huber's weights before Tukey's begin, which need a start near the solution.</summary>
    private const int HuberRounds = 10;

    private readonly RobustLoss _loss;
    private readonly double[] _given;
    private readonly double[] _sorted;
    private int _round;

    /// <summary>Scales the given weights to a mean of 1.</summary>
    /// <param name="count">Number of points.</param>
    /// <param name="given">Weights of the points; empty for equal weights.</param>
    /// <param name="loss">Treatment of large residuals.</param>
    /// <exception cref="ArgumentException">Another number of weights, a negative or infinite one, or all zero.</exception>
    public RobustWeights(int count, ReadOnlySpan<double> given, RobustLoss loss)
    {
        if (!given.IsEmpty && given.Length != count)
        {
            throw new ArgumentException($"{given.Length} weights for {count} points.");
        }

        _loss = loss;
        _given = new double[count];
        _sorted = new double[count];
        Current = new double[count];
        double total = 0;
        for (int i = 0; i < count; i++)
        {
            _given[i] = given.IsEmpty ? 1 : given[i];
            if (!(_given[i] >= 0) || double.IsInfinity(_given[i]))
            {
                throw new ArgumentException($"point {i}: weight {_given[i]}");
            }

            total += _given[i];
        }

        if (count > 0 && !(total > 0))
        {
            throw new ArgumentException("All weights are zero.");
        }

        for (int i = 0; i < count; i++)
        {
            _given[i] *= count / total;
            Current[i] = _given[i];
        }
    }

    /// <summary>Weights to use now.</summary>
    public double[] Current { get; }

    /// <summary>True when the weights no longer change their rule, so that a fit may stop.</summary>
    public bool IsSettled => _loss != RobustLoss.Tukey || _round > HuberRounds;

    /// <summary>Draws the weights anew from residuals.</summary>
    /// <param name="residuals">One for each point.</param>
    public void Update(ReadOnlySpan<double> residuals)
    {
        if (_loss == RobustLoss.None)
        {
            return;
        }

        bool tukey = _loss == RobustLoss.Tukey && _round >= HuberRounds;
        _round++;
        for (int i = 0; i < residuals.Length; i++)
        {
            _sorted[i] = Math.Abs(residuals[i]);
        }

        Array.Sort(_sorted);
        double deviation = MedianToDeviation * _sorted[_sorted.Length / 2];
        for (int i = 0; i < residuals.Length; i++)
        {
            double t = deviation > 0 ? Math.Abs(residuals[i]) / deviation : residuals[i] == 0 ? 0 : double.PositiveInfinity;
            double u = t / TukeyLimit;
            Current[i] = _given[i] * (tukey
                ? (u < 1 ? (1 - (u * u)) * (1 - (u * u)) : 0)
                : (t <= HuberLimit ? 1 : HuberLimit / t));
        }
    }
}
