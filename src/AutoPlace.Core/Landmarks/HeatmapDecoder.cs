using System.Numerics;

namespace AutoPlace.Landmarks;

/// <summary>Where a heat map sees its landmark, in input pixels.</summary>
/// <param name="X">Continuous pixel coordinate to the right.</param>
/// <param name="Y">Continuous pixel coordinate down.</param>
/// <param name="VarianceX">Variance of x, squared pixels.</param>
/// <param name="CovarianceXY">Covariance of x and y, squared pixels.</param>
/// <param name="VarianceY">Variance of y, squared pixels.</param>
public readonly record struct HeatmapPeak(double X, double Y, double VarianceX, double CovarianceXY, double VarianceY)
{
    /// <summary>Standard deviation of one coordinate, averaged over directions.</summary>
    public double Sigma => Math.Sqrt(0.5 * (VarianceX + VarianceY));
}

/// <summary>
/// Reads positions off heat maps: the expectation of the softmax over the 5 x 5 cells about the largest logit, those
/// outside the map left out (integral regression after Sun et al. 2018, windowed). The trainer decodes in the same way,
/// but goes by the first of cells that are nearly equal; here all of them count.
/// </summary>
public static class HeatmapDecoder
{
    private const int Reach = ModelContract.Window / 2;

    /// <summary>How far a logit may fall behind the largest and still count as nearly equal.</summary>
    private const double Tie = 0.02;

    /// <summary>
    /// Share of the predicted variance that every direction gets, however flat the heat map's own spread is: a window of
    /// a few cells says little about directions.
    /// </summary>
    private const double IsotropicShare = 0.5;

    /// <summary>Position and covariance of a landmark.</summary>
    /// <param name="logits">Size² logits, row by row from the top, finite.</param>
    /// <param name="size">Cells a side.</param>
    /// <param name="cellPixels">Input pixels a side of a cell.</param>
    /// <param name="logScale">Log of the Laplace scale of each coordinate, pixels: it gives the size of the covariance,
    /// the heat map its direction.</param>
    /// <exception cref="ArgumentException">Another number of logits, or none of them is finite.</exception>
    public static HeatmapPeak Decode(ReadOnlySpan<float> logits, int size, double cellPixels, double logScale)
    {
        if (logits.Length != size * size)
        {
            throw new ArgumentException($"{logits.Length} logits for a map of {size} x {size} cells.", nameof(logits));
        }

        int best = IndexOfMax(logits);
        if (!float.IsFinite(logits[best]))
        {
            throw new ArgumentException($"The heat map's largest logit is {logits[best]}.", nameof(logits));
        }

        (double mean, double meanY, double xx, double xy, double yy) = TiedMoments(logits, size, best);
        double scale = Math.Exp(Math.Clamp(logScale, ModelContract.MinLogPixelScale, ModelContract.MaxLogPixelScale));
        double variance = 2 * scale * scale; // of a Laplace distribution
        double trace = xx + yy;
        double gain = trace > 0 ? (1 - IsotropicShare) * 2 * variance / trace : 0;
        double common = trace > 0 ? IsotropicShare * variance : variance;
        return new HeatmapPeak(
            mean * cellPixels, meanY * cellPixels, common + (gain * xx), gain * xy, common + (gain * yy));
    }

    /// <summary>Index of the largest element, the first of several; NaN is never the largest, unless all are.</summary>
    internal static int IndexOfMax(ReadOnlySpan<float> values)
    {
        if (!Vector.IsHardwareAccelerated || values.Length < Vector<float>.Count)
        {
            return IndexOfMaxScalar(values);
        }

        var largest = new Vector<float>(float.NegativeInfinity);
        int i = 0;
        for (; i <= values.Length - Vector<float>.Count; i += Vector<float>.Count)
        {
            largest = Vector.MaxNumber(largest, new Vector<float>(values[i..]));
        }

        float max = float.NegativeInfinity;
        for (int lane = 0; lane < Vector<float>.Count; lane++)
        {
            max = float.MaxNumber(max, largest[lane]);
        }

        for (; i < values.Length; i++)
        {
            max = float.MaxNumber(max, values[i]);
        }

        return Math.Max(0, values.IndexOf(max));
    }

    /// <summary>The same, one element at a time.</summary>
    internal static int IndexOfMaxScalar(ReadOnlySpan<float> values)
    {
        int best = 0;
        float max = float.NegativeInfinity;
        for (int i = 0; i < values.Length; i++)
        {
            if (values[i] > max)
            {
                max = values[i];
                best = i;
            }
        }

        return best;
    }

    // Windows about cells that are nearly as large as the largest count too, the less the further they fall behind: else
    // rounding would decide between two equal cells, and move the position by a fifth of a cell.
    private static (double X, double Y, double XX, double XY, double YY) TiedMoments(ReadOnlySpan<float> logits, int size, int best)
    {
        int row = best / size, column = best % size;
        double total = 0, sx = 0, sy = 0, sxx = 0, sxy = 0, syy = 0;
        for (int y = Math.Max(0, row - Reach); y <= Math.Min(size - 1, row + Reach); y++)
        {
            for (int x = Math.Max(0, column - Reach); x <= Math.Min(size - 1, column + Reach); x++)
            {
                double weight = 1 - ((logits[best] - (double)logits[(y * size) + x]) / Tie);
                if (weight > 0)
                {
                    (double mx, double my, double xx, double xy, double yy) = WindowMoments(logits, size, (y * size) + x);
                    total += weight;
                    (sx, sy) = (sx + (weight * mx), sy + (weight * my));
                    (sxx, sxy, syy) = (sxx + (weight * xx), sxy + (weight * xy), syy + (weight * yy));
                }
            }
        }

        return (sx / total, sy / total, sxx / total, sxy / total, syy / total);
    }

    // First moments in cells (centres at +0.5) and central second moments of the softmax within the window.
    private static (double X, double Y, double XX, double XY, double YY) WindowMoments(ReadOnlySpan<float> logits, int size, int best)
    {
        int row = best / size, column = best % size;
        double sum = 0, sx = 0, sy = 0, sxx = 0, sxy = 0, syy = 0;
        for (int y = Math.Max(0, row - Reach); y <= Math.Min(size - 1, row + Reach); y++)
        {
            for (int x = Math.Max(0, column - Reach); x <= Math.Min(size - 1, column + Reach); x++)
            {
                double weight = Math.Exp(logits[(y * size) + x] - logits[best]);
                int dx = x - column, dy = y - row;
                sum += weight;
                sx += weight * dx;
                sy += weight * dy;
                sxx += weight * dx * dx;
                sxy += weight * dx * dy;
                syy += weight * dy * dy;
            }
        }

        double mx = sx / sum, my = sy / sum;
        return (column + 0.5 + mx, row + 0.5 + my, (sxx / sum) - (mx * mx), (sxy / sum) - (mx * my), (syy / sum) - (my * my));
    }
}
