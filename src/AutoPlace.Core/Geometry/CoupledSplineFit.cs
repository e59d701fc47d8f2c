namespace AutoPlace.Geometry;

/// <summary>
/// The smoothing spline whose targets have a 3 x 3 covariance each. The three coordinates are then coupled: one matrix
/// of 3N rows, 27 times the work of the isotropic one. Preconditioned conjugate gradients (Golub and Van Loan, Matrix
/// Computations, section 11.5; from memory) reach the same solution with the isotropic factor as preconditioner. It
/// differs from the true matrix in the points' own 3 x 3 blocks alone, so that an iteration costs one solve and no
/// product with the kernel matrix, and their number depends on the anisotropy of the covariances, not on N.
/// </summary>
internal sealed class CoupledSplineFit
{
    /// <summary>Stop when the residual has come down to this share, in the norm that the preconditioner gives.</summary>
    private const double ResidualTolerance = 1e-11;

    private const int MaxIterations = 1000;

    private readonly PolyharmonicSystem _system;
    private readonly Matrix3d[] _covariances;
    private readonly Matrix3d[] _correction;
    private readonly int _n;
    private readonly int _free;

    /// <summary>Prepares a fit.</summary>
    /// <param name="system">The isotropic equations.</param>
    /// <param name="diagonal">The N isotropic variances that were factored.</param>
    /// <param name="covariances">N symmetric, positive semidefinite matrices to use in their place.</param>
    public CoupledSplineFit(PolyharmonicSystem system, ReadOnlySpan<double> diagonal, Matrix3d[] covariances)
    {
        _system = system;
        _covariances = covariances;
        _n = system.Count;
        _free = _n - system.AffineColumns;
        _correction = new Matrix3d[_n];
        for (int i = 0; i < _n; i++)
        {
            _correction[i] = covariances[i] - Matrix3d.Diagonal(diagonal[i], diagonal[i], diagonal[i]);
        }
    }

    /// <summary>Solves for the three coordinates together.</summary>
    /// <param name="sources">N sources.</param>
    /// <param name="targets">N targets.</param>
    /// <param name="iterations">Number of iterations.</param>
    /// <exception cref="InvalidOperationException">No convergence: a covariance isn't positive semidefinite.</exception>
    public PolyharmonicSpline Solve(Vector3d[] sources, ReadOnlySpan<Vector3d> targets, out int iterations)
    {
        double[] z = ConjugateGradients(targets, out iterations);
        double[] weights = Expand(z);
        Span<double> constants = stackalloc double[3];
        Span<Vector3d> gradients = stackalloc Vector3d[3];
        var rest = new double[3 * _n];
        double energy = 0;
        for (int i = 0; i < _n; i++)
        {
            var w = new Vector3d(weights[i], weights[_n + i], weights[(2 * _n) + i]);
            energy += Vector3d.Dot(w, targets[i] - (_covariances[i] * w));
            Vector3d left = targets[i] - (_correction[i] * w);
            (rest[i], rest[_n + i], rest[(2 * _n) + i]) = (left.X, left.Y, left.Z);
        }

        var affineWeights = new double[_n];
        for (int axis = 0; axis < 3; axis++)
        {
            z.AsSpan(axis * _free, _free).CopyTo(affineWeights.AsSpan(_n - _free));
            (constants[axis], gradients[axis]) = _system.Finish(rest.AsSpan(axis * _n, _n), affineWeights);
        }

        return new PolyharmonicSpline(
            sources, weights, new(gradients[0], gradients[1], gradients[2]), new(constants[0], constants[1], constants[2]), energy);
    }

    private double[] ConjugateGradients(ReadOnlySpan<Vector3d> targets, out int iterations)
    {
        double[] x = new double[3 * _free], residual = ProjectTargets(targets);
        double[] direction = (double[])residual.Clone();
        _system.SolveProjected(direction);

        // The preconditioner times the direction follows the direction's recursion and is never multiplied out.
        double[] preconditioned = (double[])residual.Clone(), step = (double[])direction.Clone();
        double rho = BlockedCholesky.Dot(residual, step), target = rho * ResidualTolerance * ResidualTolerance;
        for (iterations = 0; rho > target; iterations++)
        {
            if (iterations == MaxIterations)
            {
                throw new InvalidOperationException($"The spline didn't converge in {MaxIterations} iterations.");
            }

            double[] product = Correct(direction);
            BlockedCholesky.AddScaled(preconditioned, 1, product);
            double curvature = BlockedCholesky.Dot(direction, product);
            if (!(curvature > 0))
            {
                throw new InvalidOperationException("A covariance is not positive semidefinite.");
            }

            double alpha = rho / curvature;
            BlockedCholesky.AddScaled(direction, alpha, x);
            BlockedCholesky.AddScaled(product, -alpha, residual);
            residual.CopyTo(step.AsSpan());
            _system.SolveProjected(step);
            double next = BlockedCholesky.Dot(residual, step), beta = next / rho;
            rho = next;
            for (int i = 0; i < direction.Length; i++)
            {
                direction[i] = step[i] + (beta * direction[i]);
                preconditioned[i] = residual[i] + (beta * preconditioned[i]);
            }
        }

        return x;
    }

    /// <summary><c>Q2^T (C - D) Q2 z</c>.</summary>
    private double[] Correct(double[] z)
    {
        double[] w = Expand(z);
        for (int i = 0; i < _n; i++)
        {
            Vector3d corrected = _correction[i] * new Vector3d(w[i], w[_n + i], w[(2 * _n) + i]);
            (w[i], w[_n + i], w[(2 * _n) + i]) = (corrected.X, corrected.Y, corrected.Z);
        }

        return Project(w);
    }

    private double[] ProjectTargets(ReadOnlySpan<Vector3d> targets)
    {
        var values = new double[3 * _n];
        for (int i = 0; i < _n; i++)
        {
            (values[i], values[_n + i], values[(2 * _n) + i]) = (targets[i].X, targets[i].Y, targets[i].Z);
        }

        return Project(values);
    }

    private double[] Project(double[] w)
    {
        var z = new double[3 * _free];
        for (int axis = 0; axis < 3; axis++)
        {
            Span<double> full = w.AsSpan(axis * _n, _n);
            _system.Project(full);
            full[(_n - _free)..].CopyTo(z.AsSpan(axis * _free));
        }

        return z;
    }

    private double[] Expand(double[] z)
    {
        var w = new double[3 * _n];
        for (int axis = 0; axis < 3; axis++)
        {
            Span<double> full = w.AsSpan(axis * _n, _n);
            z.AsSpan(axis * _free, _free).CopyTo(full[(_n - _free)..]);
            _system.Expand(full);
        }

        return w;
    }
}
