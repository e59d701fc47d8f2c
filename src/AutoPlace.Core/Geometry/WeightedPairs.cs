using System.Runtime.Intrinsics;

namespace AutoPlace.Geometry;

/// <summary>Many pairs of points with weights, laid out for fitting similarities to them again and again.</summary>
internal sealed class WeightedPairs
{
    private const int Lanes = 4;

    /// <summary>Seven rows: source, target, weight; padded by pairs without weight.</summary>
    private readonly double[] _rows;
    private readonly int _padded;

    /// <summary>Makes room for pairs.</summary>
    /// <param name="count">Number of pairs N, at least 1.</param>
    public WeightedPairs(int count)
    {
        ArgumentOutOfRangeException.ThrowIfLessThan(count, 1);
        Count = count;
        _padded = (count + Lanes - 1) / Lanes * Lanes;
        _rows = new double[7 * _padded];
    }

    /// <summary>Number of pairs N.</summary>
    public int Count { get; }

    /// <summary>Sets a pair.</summary>
    /// <param name="i">Its index.</param>
    /// <param name="source">Its source, finite.</param>
    /// <param name="target">Its target, finite.</param>
    /// <param name="weight">Its weight, positive.</param>
    public void Set(int i, Vector3d source, Vector3d target, double weight)
    {
        ReadOnlySpan<double> values = [source.X, source.Y, source.Z, target.X, target.Y, target.Z, weight];
        for (int row = 0; row < values.Length; row++)
        {
            _rows[(row * _padded) + i] = values[row];
        }
    }

    /// <summary>
    /// One round of iteratively reweighted least squares with Cauchy's weights (Holland and Welsch 1977; from memory):
    /// the similarity nearest to the pairs, each weighted by <c>w / (1 + r^2 / half^2)</c> for its distance r under an
    /// earlier one. O(N).
    /// </summary>
    /// <param name="earlier">The earlier similarity.</param>
    /// <param name="half">Distance at which a weight has dropped to half; infinite for the weights as they are.</param>
    public SimilarityTransform Align(SimilarityTransform earlier, double half)
    {
        ArgumentNullException.ThrowIfNull(earlier);
        Span<double> sums = stackalloc double[Moments];
        Accumulate(earlier, 1 / (half * half), sums);
        return FromSums(sums);
    }

    /// <summary>Share of the weight that lies within a distance under a similarity.</summary>
    /// <param name="similarity">The similarity.</param>
    /// <param name="distance">Distance, the target's unit.</param>
    public double ShareWithin(SimilarityTransform similarity, double distance)
    {
        ArgumentNullException.ThrowIfNull(similarity);
        double inside = 0, total = 0;
        for (int i = 0; i < Count; i++)
        {
            double weight = _rows[(6 * _padded) + i];
            total += weight;
            inside += (similarity.Apply(Point(0, i)) - Point(3, i)).LengthSquared < distance * distance ? weight : 0;
        }

        return inside / total;
    }

    /// <summary>Scalar twin of <see cref="Align"/>.</summary>
    internal SimilarityTransform AlignScalar(SimilarityTransform earlier, double half)
    {
        Span<double> sums = stackalloc double[Moments];
        for (int i = 0; i < Count; i++)
        {
            Vector3d a = Point(0, i), h = Point(3, i);
            double w = _rows[(6 * _padded) + i] / (1 + ((earlier.Apply(a) - h).LengthSquared / (half * half)));
            ReadOnlySpan<double> terms =
                [1, a.X, a.Y, a.Z, h.X, h.Y, h.Z, h.X * a.X, h.X * a.Y, h.X * a.Z, h.Y * a.X, h.Y * a.Y, h.Y * a.Z, h.Z * a.X, h.Z * a.Y, h.Z * a.Z,
                    a.LengthSquared, h.LengthSquared];
            for (int k = 0; k < Moments; k++)
            {
                sums[k] += w * terms[k];
            }
        }

        return FromSums(sums);
    }

    // Sums of the weights, the coordinates, the targets' by the sources' coordinates and of both squared lengths.
    private const int Moments = 18;

    private void Accumulate(SimilarityTransform earlier, double inverseSquare, Span<double> sums)
    {
        Matrix3d m = earlier.Rotation * earlier.Scale;
        Vector3d t = earlier.Translation;
        Vector256<double> one = Vector256.Create(1.0);
        Span<Vector256<double>> s = stackalloc Vector256<double>[Moments];
        s.Clear();
        for (int i = 0; i < _padded; i += Lanes)
        {
            Vector256<double> ax = Row(0, i), ay = Row(1, i), az = Row(2, i), hx = Row(3, i), hy = Row(4, i), hz = Row(5, i);
            Vector256<double> dx = (ax * m.Row0.X) + (ay * m.Row0.Y) + (az * m.Row0.Z) + (Vector256.Create(t.X) - hx);
            Vector256<double> dy = (ax * m.Row1.X) + (ay * m.Row1.Y) + (az * m.Row1.Z) + (Vector256.Create(t.Y) - hy);
            Vector256<double> dz = (ax * m.Row2.X) + (ay * m.Row2.Y) + (az * m.Row2.Z) + (Vector256.Create(t.Z) - hz);
            Vector256<double> w = Row(6, i) / (one + (((dx * dx) + (dy * dy) + (dz * dz)) * inverseSquare));
            Vector256<double> wx = w * hx, wy = w * hy, wz = w * hz;
            s[0] += w;
            s[1] += w * ax;
            s[2] += w * ay;
            s[3] += w * az;
            s[4] += wx;
            s[5] += wy;
            s[6] += wz;
            s[7] += wx * ax;
            s[8] += wx * ay;
            s[9] += wx * az;
            s[10] += wy * ax;
            s[11] += wy * ay;
            s[12] += wy * az;
            s[13] += wz * ax;
            s[14] += wz * ay;
            s[15] += wz * az;
            s[16] += w * ((ax * ax) + (ay * ay) + (az * az));
            s[17] += (wx * hx) + (wy * hy) + (wz * hz);
        }

        for (int k = 0; k < Moments; k++)
        {
            sums[k] = Vector256.Sum(s[k]);
        }
    }

    private static SimilarityTransform FromSums(ReadOnlySpan<double> sums)
    {
        double total = sums[0];
        Vector3d source = new Vector3d(sums[1], sums[2], sums[3]) / total, target = new Vector3d(sums[4], sums[5], sums[6]) / total;
        var products = new Matrix3d(
            new Vector3d(sums[7], sums[8], sums[9]) / total,
            new Vector3d(sums[10], sums[11], sums[12]) / total,
            new Vector3d(sums[13], sums[14], sums[15]) / total);
        return ProcrustesAlignment.FromMoments(
            source,
            target,
            (sums[16] / total) - source.LengthSquared,
            (sums[17] / total) - target.LengthSquared,
            products + (Matrix3d.Outer(target, source) * -1));
    }

    private Vector256<double> Row(int row, int i) => Vector256.Create(_rows.AsSpan((row * _padded) + i, Lanes));

    private Vector3d Point(int row, int i) => new(_rows[(row * _padded) + i], _rows[((row + 1) * _padded) + i], _rows[((row + 2) * _padded) + i]);
}
