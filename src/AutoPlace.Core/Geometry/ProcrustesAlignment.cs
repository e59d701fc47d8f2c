namespace AutoPlace.Geometry;

/// <summary>
/// The similarity that brings one point set nearest to another (Umeyama 1991, "Least-squares estimation of
/// transformation parameters between two point patterns", IEEE PAMI 13(4), equations 34-43).
/// </summary>
public static class ProcrustesAlignment
{
    /// <summary>Singular values of the correlation below this share of the largest count as zero.</summary>
    private const double RankTolerance = 1e-9;

    /// <summary>
    /// Minimises the weighted mean of <c>|scale R source_i + t - target_i|^2</c>. Point sets that leave the rotation
    /// open have a defined answer: coplanar ones are turned, never mirrored; collinear ones are turned by the smallest
    /// angle that does it; coincident ones aren't turned. Where either set has no extent, or the sets aren't correlated
    /// at all, the scale is 1.
    /// </summary>
    /// <param name="source">N points, N at least 1, finite.</param>
    /// <param name="target">N points in the frame to map to.</param>
    /// <param name="weights">N weights, not negative, at least one positive; empty for equal weights.</param>
    /// <param name="allowReflection">The best orthogonal matrix may have determinant -1.</param>
    /// <param name="allowScale">Estimate the scale; otherwise it is 1.</param>
    /// <exception cref="ArgumentException">Lengths differ or are 0, a value isn't finite, a weight is negative, or all are 0.</exception>
    public static SimilarityTransform Align(
        ReadOnlySpan<Vector3d> source,
        ReadOnlySpan<Vector3d> target,
        ReadOnlySpan<double> weights = default,
        bool allowReflection = false,
        bool allowScale = true)
    {
        double total = Validate(source, target, weights);
        Vector3d sourceMean = Vector3d.Zero, targetMean = Vector3d.Zero;
        for (int i = 0; i < source.Length; i++)
        {
            double w = Weight(weights, i) / total;
            sourceMean += source[i] * w;
            targetMean += target[i] * w;
        }

        double sourceVariance = 0, targetVariance = 0;
        var correlation = default(Matrix3d);
        for (int i = 0; i < source.Length; i++)
        {
            double w = Weight(weights, i) / total;
            Vector3d x = source[i] - sourceMean, y = target[i] - targetMean;
            sourceVariance += w * x.LengthSquared;
            targetVariance += w * y.LengthSquared;
            correlation += Matrix3d.Outer(y * w, x);
        }

        return FromMoments(sourceMean, targetMean, sourceVariance, targetVariance, correlation, allowReflection, allowScale);
    }

    /// <summary>The same from the point sets' moments.</summary>
    /// <param name="sourceMean">Weighted mean of the sources.</param>
    /// <param name="targetMean">Weighted mean of the targets.</param>
    /// <param name="sourceVariance">Weighted mean square of the sources' distances from their mean.</param>
    /// <param name="targetVariance">The targets'.</param>
    /// <param name="correlation">Weighted mean of (target - mean) (source - mean)^T.</param>
    /// <param name="allowReflection">As for <see cref="Align"/>.</param>
    /// <param name="allowScale">As for <see cref="Align"/>.</param>
    internal static SimilarityTransform FromMoments(
        Vector3d sourceMean,
        Vector3d targetMean,
        double sourceVariance,
        double targetVariance,
        Matrix3d correlation,
        bool allowReflection = false,
        bool allowScale = true)
    {
        // A correlation that is rounding error beside the spreads says nothing about the rotation.
        double noise = RankTolerance * Math.Sqrt(sourceVariance) * Math.Sqrt(targetVariance);
        (Matrix3d rotation, double gain) = NearestRotation(correlation, noise, allowReflection);
        double scale = allowScale && sourceVariance > 0 && gain > noise ? gain / sourceVariance : 1;
        return new SimilarityTransform(scale, rotation, targetMean - (rotation * sourceMean * scale));
    }

    /// <summary>Weighted mean of the squared distances that remain between mapped source and target.</summary>
    /// <param name="transform">Map from source to target.</param>
    /// <param name="source">N points.</param>
    /// <param name="target">N points.</param>
    /// <param name="weights">N weights; empty for equal weights.</param>
    /// <exception cref="ArgumentException">As for <see cref="Align"/>.</exception>
    public static double MeanSquaredError(
        SimilarityTransform transform, ReadOnlySpan<Vector3d> source, ReadOnlySpan<Vector3d> target, ReadOnlySpan<double> weights = default)
    {
        ArgumentNullException.ThrowIfNull(transform);
        double total = Validate(source, target, weights), sum = 0;
        for (int i = 0; i < source.Length; i++)
        {
            sum += Weight(weights, i) * (transform.Apply(source[i]) - target[i]).LengthSquared;
        }

        return sum / total;
    }

    /// <summary>The orthogonal R with the largest trace(R^T M), and that trace.</summary>
    private static (Matrix3d Rotation, double Gain) NearestRotation(Matrix3d correlation, double noise, bool allowReflection)
    {
        var svd = SingularValues3.Decompose(correlation);
        double negligible = Math.Max(noise, RankTolerance * svd.Values.X);
        if (svd.Values.X <= negligible)
        {
            return (Matrix3d.Identity, 0);
        }

        if (svd.Values.Y <= negligible)
        {
            Matrix3d u = svd.U.Transposed(), v = svd.V.Transposed();
            return (SmallestTurn(v.Row0, u.Row0), svd.Values.X);
        }

        // Both mirrored and not are as good when the third value is zero; the rotation is preferred.
        bool mirrored = svd.U.Determinant < 0;
        double sign = !mirrored || (allowReflection && svd.Values.Z > negligible) ? 1 : -1;
        Matrix3d rotation = svd.U * Matrix3d.Diagonal(1, 1, sign) * svd.V.Transposed();
        return (rotation, svd.Values.X + svd.Values.Y + (sign * svd.Values.Z));
    }

    /// <summary>The rotation by the smallest angle that takes one unit vector to another (Rodrigues' formula).</summary>
    private static Matrix3d SmallestTurn(Vector3d from, Vector3d to)
    {
        double cosine = Vector3d.Dot(from, to);
        Vector3d axis = Vector3d.Cross(from, to);
        if (cosine <= -1 + 1e-12)
        {
            // Half a turn about an axis across: the one across the coordinate axis that is least along.
            Vector3d across = Math.Abs(from.X) < 0.6 ? Vector3d.Cross(from, Vector3d.UnitX) : Vector3d.Cross(from, Vector3d.UnitY);
            Vector3d n = across.Normalized();
            return (Matrix3d.Outer(n, n) * 2) - Matrix3d.Identity;
        }

        var skew = new Matrix3d(new(0, -axis.Z, axis.Y), new(axis.Z, 0, -axis.X), new(-axis.Y, axis.X, 0));
        return Matrix3d.Identity + skew + (skew * skew * (1 / (1 + cosine)));
    }

    private static double Weight(ReadOnlySpan<double> weights, int i) => weights.IsEmpty ? 1 : weights[i];

    private static double Validate(ReadOnlySpan<Vector3d> source, ReadOnlySpan<Vector3d> target, ReadOnlySpan<double> weights)
    {
        if (source.Length == 0 || source.Length != target.Length || (!weights.IsEmpty && weights.Length != source.Length))
        {
            throw new ArgumentException($"{source.Length} source points, {target.Length} target points, {weights.Length} weights.", nameof(source));
        }

        double total = 0;
        for (int i = 0; i < source.Length; i++)
        {
            double w = Weight(weights, i);
            if (!source[i].IsFinite || !target[i].IsFinite || !(w >= 0) || double.IsInfinity(w))
            {
                throw new ArgumentException($"point {i}: {source[i]} to {target[i]} with weight {w}", nameof(source));
            }

            total += w;
        }

        return total > 0 ? total : throw new ArgumentException("All weights are zero.", nameof(weights));
    }
}
