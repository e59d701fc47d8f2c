using System.Numerics;
using System.Runtime.Intrinsics;

namespace AutoPlace.Geometry;

/// <summary>
/// A smooth map of space, <c>f(x) = A x + b + sum_i w_i |x - s_i|</c>: the biharmonic spline in three dimensions with
/// affine part (Duchon 1977; Bookstein 1989 has the plane's). Of all maps that meet the targets it bends least; affine
/// maps are reproduced. It's smooth except at the sources, where it has a kink like that of a cone.
/// </summary>
public sealed class PolyharmonicSpline
{
    private const int Lanes = 4;

    /// <summary>Points of one task in a batch.</summary>
    private const int BatchGrain = 128;

    private readonly int _padded;

    /// <summary>Six rows: x, y, z of the sources, then of the weights; padded by sources of weight 0.</summary>
    private readonly double[] _rows;
    private readonly double[] _weights;

    /// <summary>Takes the solver's outcome.</summary>
    /// <param name="sources">N sources.</param>
    /// <param name="solverWeights">3N weights of the kernel -r, coordinate by coordinate.</param>
    /// <param name="linear">A.</param>
    /// <param name="constant">b.</param>
    /// <param name="bendingEnergy">w' K w, summed over the coordinates.</param>
    internal PolyharmonicSpline(
        ReadOnlySpan<Vector3d> sources, double[] solverWeights, Matrix3d linear, Vector3d constant, double bendingEnergy)
    {
        int n = sources.Length;
        _padded = (n + Lanes - 1) / Lanes * Lanes;
        _rows = new double[6 * _padded];
        _weights = solverWeights;
        Linear = linear;
        Constant = constant;
        BendingEnergy = bendingEnergy;
        for (int i = 0; i < n; i++)
        {
            for (int axis = 0; axis < 3; axis++)
            {
                _rows[(axis * _padded) + i] = sources[i][axis];
                _rows[((3 + axis) * _padded) + i] = -solverWeights[(axis * n) + i];
            }
        }
    }

    /// <summary>Number of sources N.</summary>
    public int Count => _weights.Length / 3;

    /// <summary>A, the linear part.</summary>
    public Matrix3d Linear { get; }

    /// <summary>b, the constant part.</summary>
    public Vector3d Constant { get; }

    /// <summary>
    /// <c>-sum_ij w_i . w_j |s_i - s_j|</c>, which is not negative, is 0 for affine maps and falls with more smoothing.
    /// </summary>
    public double BendingEnergy { get; }

    /// <summary>Fits a spline to targets with the same uncertainty in all directions. O(N^3 / 3); 1,200 points take about 30 ms.</summary>
    /// <param name="sources">N points s_i, at least four, not in one plane.</param>
    /// <param name="targets">N points that the sources should map to.</param>
    /// <param name="variances">Variance v_i of each target's coordinates; empty for 1 everywhere. Variance 0 is met exactly.</param>
    /// <param name="smoothing">
    /// Minimised is <c>sum_i |f(s_i) - target_i|^2 / v_i + smoothing * bending energy</c>. 0, the default, meets all
    /// targets. It is the most likely map when the deviation from an affine map is a random field whose increments over
    /// a distance r have the variance <c>2 r / smoothing</c> in each coordinate; its unit is 1 / length.
    /// </param>
    /// <exception cref="ArgumentException">See <see cref="PolyharmonicSplineSolver"/>.</exception>
    public static PolyharmonicSpline Fit(
        ReadOnlySpan<Vector3d> sources, ReadOnlySpan<Vector3d> targets, ReadOnlySpan<double> variances = default, double smoothing = 0) =>
        new PolyharmonicSplineSolver(sources, variances, smoothing).Fit(targets);

    /// <summary>
    /// Fits a spline to targets with a covariance each, so that a target can be sure across the skin and vague along it.
    /// Minimised is <c>sum_i d_i^T C_i^-1 d_i + smoothing * bending energy</c> with <c>d_i = f(s_i) - target_i</c>;
    /// directions without variance are met exactly.
    /// </summary>
    /// <param name="sources">N points, at least four, not in one plane.</param>
    /// <param name="targets">N points that the sources should map to.</param>
    /// <param name="covariances">N symmetric, positive semidefinite covariances C_i.</param>
    /// <param name="smoothing">As for the other overload.</param>
    /// <exception cref="ArgumentException">See <see cref="PolyharmonicSplineSolver"/>; a covariance that isn't symmetric.</exception>
    /// <exception cref="InvalidOperationException">A covariance isn't positive semidefinite.</exception>
    public static PolyharmonicSpline Fit(
        ReadOnlySpan<Vector3d> sources, ReadOnlySpan<Vector3d> targets, ReadOnlySpan<Matrix3d> covariances, double smoothing) =>
        Fit(sources, targets, covariances, smoothing, out _);

    /// <summary>Weight of a source, for the kernel +r.</summary>
    /// <param name="source">Index of the source.</param>
    public Vector3d Weight(int source) =>
        new(_rows[(3 * _padded) + source], _rows[(4 * _padded) + source], _rows[(5 * _padded) + source]);

    /// <summary>Maps a point, O(N).</summary>
    public Vector3d Apply(Vector3d point)
    {
        Vector256<double> x = Vector256.Create(point.X), y = Vector256.Create(point.Y), z = Vector256.Create(point.Z);
        Vector256<double> sumX = default, sumY = default, sumZ = default;
        ReadOnlySpan<double> rows = _rows;
        for (int i = 0; i < _padded; i += Lanes)
        {
            Vector256<double> dx = x - Row(rows, 0, i), dy = y - Row(rows, 1, i), dz = z - Row(rows, 2, i);
            Vector256<double> r = Vector256.Sqrt((dx * dx) + (dy * dy) + (dz * dz));
            sumX += Row(rows, 3, i) * r;
            sumY += Row(rows, 4, i) * r;
            sumZ += Row(rows, 5, i) * r;
        }

        return (Linear * point) + Constant + new Vector3d(Vector256.Sum(sumX), Vector256.Sum(sumY), Vector256.Sum(sumZ));
    }

    /// <summary>Maps many points; on several threads when there are many, with the same outcome.</summary>
    /// <param name="points">Points to map.</param>
    /// <param name="mapped">Receives one point for each; may be the same memory.</param>
    /// <exception cref="ArgumentException">The spans differ in length.</exception>
    public void Apply(ReadOnlySpan<Vector3d> points, Span<Vector3d> mapped)
    {
        ThrowUnlessPaired(points.Length, mapped.Length);
        Vector3d[] values = points.ToArray();
        ApplyInPlace(values);
        values.CopyTo(mapped);
    }

    /// <summary>Maps many points of single precision; computed in double precision and rounded.</summary>
    /// <param name="points">Points to map.</param>
    /// <param name="mapped">Receives one point for each; may be the same memory.</param>
    /// <exception cref="ArgumentException">The spans differ in length.</exception>
    public void Apply(ReadOnlySpan<Vector3> points, Span<Vector3> mapped)
    {
        ThrowUnlessPaired(points.Length, mapped.Length);
        var values = new Vector3d[points.Length];
        for (int i = 0; i < values.Length; i++)
        {
            values[i] = points[i];
        }

        ApplyInPlace(values);
        for (int i = 0; i < values.Length; i++)
        {
            mapped[i] = (Vector3)values[i];
        }
    }

    /// <summary>
    /// The map's derivative: column k is how the image moves as coordinate k grows. At a source that source's own kink
    /// contributes nothing (the mean over all directions).
    /// </summary>
    /// <param name="point">Where.</param>
    public Matrix3d Jacobian(Vector3d point)
    {
        Vector3d row0 = Linear.Row0, row1 = Linear.Row1, row2 = Linear.Row2;
        for (int i = 0; i < Count; i++)
        {
            Vector3d offset = point - new Vector3d(_rows[i], _rows[_padded + i], _rows[(2 * _padded) + i]);
            Vector3d direction = offset.Normalized(), w = Weight(i);
            row0 += direction * w.X;
            row1 += direction * w.Y;
            row2 += direction * w.Z;
        }

        return new Matrix3d(row0, row1, row2);
    }

    /// <summary>Scalar twin of <see cref="Apply(Vector3d)"/>.</summary>
    internal Vector3d ApplyScalar(Vector3d point)
    {
        Vector3d sum = Vector3d.Zero;
        for (int i = 0; i < Count; i++)
        {
            sum += Weight(i) * Vector3d.Distance(point, new Vector3d(_rows[i], _rows[_padded + i], _rows[(2 * _padded) + i]));
        }

        return (Linear * point) + Constant + sum;
    }

    /// <summary>The fit with covariances, and how many iterations it took.</summary>
    internal static PolyharmonicSpline Fit(
        ReadOnlySpan<Vector3d> sources,
        ReadOnlySpan<Vector3d> targets,
        ReadOnlySpan<Matrix3d> covariances,
        double smoothing,
        out int iterations)
    {
        if (covariances.Length != sources.Length)
        {
            throw new ArgumentException($"{covariances.Length} covariances for {sources.Length} points.", nameof(covariances));
        }

        var variances = new double[covariances.Length];
        var scaled = new Matrix3d[covariances.Length];
        for (int i = 0; i < variances.Length; i++)
        {
            Matrix3d c = covariances[i];
            if (c != c.Transposed())
            {
                throw new ArgumentException($"point {i}: the covariance is not symmetric", nameof(covariances));
            }

            variances[i] = c.Trace / 3;
            scaled[i] = c * smoothing;
        }

        return new PolyharmonicSplineSolver(sources, variances, smoothing).Fit(targets, scaled, out iterations);
    }

    private Vector256<double> Row(ReadOnlySpan<double> rows, int row, int i) =>
        Vector256.Create(rows.Slice((row * _padded) + i, Lanes));

    private void ApplyInPlace(Vector3d[] values)
    {
        int ranges = (values.Length + BatchGrain - 1) / BatchGrain;
        Parallel.For(0, ranges, range =>
        {
            int end = Math.Min(values.Length, (range + 1) * BatchGrain);
            for (int i = range * BatchGrain; i < end; i++)
            {
                values[i] = Apply(values[i]);
            }
        });
    }

    private static void ThrowUnlessPaired(int points, int mapped)
    {
        if (points != mapped)
        {
            throw new ArgumentException($"{mapped} results for {points} points.", nameof(mapped));
        }
    }
}
