namespace AutoPlace.Geometry;

/// <summary>
/// The equations of a <see cref="PolyharmonicSpline"/> over fixed sources, factored once for any number of targets.
/// </summary>
public sealed class PolyharmonicSplineSolver
{
    /// <summary>Columns of the affine block in space.</summary>
    private const int AffineColumns = 4;

    private readonly Vector3d[] _sources;
    private readonly double[] _diagonal;
    private readonly PolyharmonicSystem _system;

    /// <summary>Factors the equations, O(N^3 / 3).</summary>
    /// <param name="sources">N points, at least four, not in one plane, finite.</param>
    /// <param name="variances">
    /// Variance of each target's coordinates, not negative; empty for 1 everywhere. A target of variance 0 is met.
    /// </param>
    /// <param name="smoothing">See <see cref="PolyharmonicSpline.Fit(ReadOnlySpan{Vector3d}, ReadOnlySpan{Vector3d}, ReadOnlySpan{double}, double)"/>.</param>
    /// <exception cref="ArgumentException">
    /// Too few or coplanar points, another number of variances, a negative or infinite value, or coincident points of
    /// which one has no variance; the message names the point.
    /// </exception>
    public PolyharmonicSplineSolver(ReadOnlySpan<Vector3d> sources, ReadOnlySpan<double> variances, double smoothing)
    {
        if (!variances.IsEmpty && variances.Length != sources.Length)
        {
            throw new ArgumentException($"{variances.Length} variances for {sources.Length} points.", nameof(variances));
        }

        if (!(smoothing >= 0) || double.IsInfinity(smoothing))
        {
            throw new ArgumentOutOfRangeException(nameof(smoothing), smoothing, "Smoothing must be finite and not negative.");
        }

        _sources = sources.ToArray();
        _diagonal = new double[sources.Length];
        for (int i = 0; i < sources.Length; i++)
        {
            double variance = variances.IsEmpty ? 1 : variances[i];
            if (!sources[i].IsFinite || !(variance >= 0) || double.IsInfinity(variance))
            {
                throw new ArgumentException($"point {i}: {sources[i]} with variance {variance}", nameof(sources));
            }

            _diagonal[i] = smoothing * variance;
        }

        _system = PolyharmonicSystem.Create<LinearKernel>(_sources, _diagonal, AffineColumns);
    }

    /// <summary>The spline to other targets from the same sources, O(N^2).</summary>
    /// <param name="targets">N points, finite.</param>
    /// <exception cref="ArgumentException">Another number of targets, or one that isn't finite.</exception>
    public PolyharmonicSpline Fit(ReadOnlySpan<Vector3d> targets)
    {
        ThrowUnlessUsable(targets);
        int n = _sources.Length;
        var weights = new double[3 * n];
        var values = new double[n];
        Span<double> constants = stackalloc double[3];
        Span<Vector3d> gradients = stackalloc Vector3d[3];
        double energy = 0;
        for (int axis = 0; axis < 3; axis++)
        {
            for (int i = 0; i < n; i++)
            {
                values[i] = targets[i][axis];
            }

            Span<double> w = weights.AsSpan(axis * n, n);
            (constants[axis], gradients[axis]) = _system.Solve(values, w);
            for (int i = 0; i < n; i++)
            {
                // w' K w = w' (y - D w), since w annihilates the affine part.
                energy += w[i] * (values[i] - (_diagonal[i] * w[i]));
            }
        }

        return new PolyharmonicSpline(
            _sources, weights, new(gradients[0], gradients[1], gradients[2]), new(constants[0], constants[1], constants[2]), energy);
    }

    /// <summary>The spline for targets that have a covariance each; see <see cref="CoupledSplineFit"/>.</summary>
    /// <param name="targets">N points.</param>
    /// <param name="covariances">N covariances, already multiplied by the smoothing.</param>
    /// <param name="iterations">Number of iterations.</param>
    internal PolyharmonicSpline Fit(ReadOnlySpan<Vector3d> targets, Matrix3d[] covariances, out int iterations)
    {
        ThrowUnlessUsable(targets);
        var fit = new CoupledSplineFit(_system, _diagonal, covariances);
        return fit.Solve(_sources, targets, out iterations);
    }

    private void ThrowUnlessUsable(ReadOnlySpan<Vector3d> targets)
    {
        if (targets.Length != _sources.Length)
        {
            throw new ArgumentException($"{targets.Length} targets for {_sources.Length} points.", nameof(targets));
        }

        for (int i = 0; i < targets.Length; i++)
        {
            if (!targets[i].IsFinite)
            {
                throw new ArgumentException($"target {i}: {targets[i]} is not finite", nameof(targets));
            }
        }
    }
}
