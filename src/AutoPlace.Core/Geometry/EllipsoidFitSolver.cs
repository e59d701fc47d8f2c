namespace AutoPlace.Geometry;

/// <summary>The iteration behind <see cref="EllipsoidFit"/>, in coordinates in which the starting sphere is the unit sphere.</summary>
internal sealed class EllipsoidFitSolver
{
    private const int MaxIterations = 200;
    private const double StepTolerance = 1e-11;

    /// <summary>Half axes beyond this many starting radii mean that the surface is opening, not closing.</summary>
    private const double LargestAxis = 100;

    private readonly Vector3d[] _points;
    private readonly SphereFit _start;
    private readonly bool _axisAligned;
    private readonly RobustWeights _robust;
    private readonly int _unknowns;
    private readonly double[] _residuals;

    /// <summary>One row of derivatives for each point: centre, then the matrix's diagonal, then its other elements.</summary>
    private readonly double[] _derivatives;
    private readonly double[] _normal;
    private readonly double[] _right;

    /// <summary>Prepares a fit.</summary>
    /// <param name="points">The points.</param>
    /// <param name="start">Their sphere fit.</param>
    /// <param name="options">Options.</param>
    /// <param name="robust">Weights, one for each point.</param>
    public EllipsoidFitSolver(ReadOnlySpan<Vector3d> points, SphereFit start, EllipsoidFitOptions options, RobustWeights robust)
    {
        (_start, _axisAligned, _robust) = (start, options.AxisAligned, robust);
        _unknowns = _axisAligned ? 6 : 9;
        _points = new Vector3d[points.Length];
        for (int i = 0; i < points.Length; i++)
        {
            _points[i] = (points[i] - start.Centre) / start.Radius;
        }

        _residuals = new double[points.Length];
        _derivatives = new double[points.Length * _unknowns];
        _normal = new double[_unknowns * _unknowns];
        _right = new double[_unknowns];
    }

    /// <summary>Iterates to the fit; null without convergence.</summary>
    public EllipsoidFit? Solve()
    {
        (Vector3d centre, Matrix3d toSphere, double damping) = (Vector3d.Zero, Matrix3d.Identity, 1e-3);
        for (int iteration = 0; iteration < MaxIterations; iteration++)
        {
            Evaluate(centre, toSphere, withDerivatives: true);
            _robust.Update(_residuals);
            FormNormalEquations();
            double cost = Cost();
            double moved = double.PositiveInfinity;
            bool improved = false;
            while (!improved && damping < 1e12)
            {
                if (TrySolve(damping, _right) is double[] step)
                {
                    (Vector3d nextCentre, Matrix3d nextMatrix) = Moved(centre, toSphere, step);
                    if (Evaluate(nextCentre, nextMatrix, withDerivatives: false) && Cost() <= cost)
                    {
                        (centre, toSphere, improved) = (nextCentre, nextMatrix, true);
                        moved = Largest(step);
                    }
                }

                damping *= improved ? 0.1 : 10;
            }

            if ((!improved || moved < StepTolerance) && _robust.IsSettled)
            {
                return Describe(centre, toSphere);
            }

            damping = Math.Clamp(damping, 1e-12, 1e3);
        }

        return null;
    }

    private EllipsoidFit? Describe(Vector3d centre, Matrix3d toSphere)
    {
        if (!Evaluate(centre, toSphere, withDerivatives: true) || CentreCovariance() is not Matrix3d covariance)
        {
            return null;
        }

        double total = 0;
        Vector3d mean = Vector3d.Zero;
        for (int i = 0; i < _points.Length; i++)
        {
            total += _robust.Current[i];
            mean += (toSphere * (_points[i] - centre)).Normalized() * _robust.Current[i];
        }

        (Vector3d axes, Matrix3d directions) = HalfAxes(toSphere);
        double scale = _start.Radius;
        return new EllipsoidFit(
            _start.Centre + (centre * scale),
            axes * scale,
            directions,
            Math.Sqrt(Cost() / total) * scale,
            covariance * (scale * scale),
            1 - (mean.Length / total));
    }

    private (Vector3d HalfAxes, Matrix3d Directions) HalfAxes(Matrix3d toSphere)
    {
        if (_axisAligned)
        {
            return (new Vector3d(1 / toSphere.Row0.X, 1 / toSphere.Row1.Y, 1 / toSphere.Row2.Z), Matrix3d.Identity);
        }

        // The largest half axis belongs to the smallest eigenvalue.
        var eigen = SymmetricEigen3.Decompose(toSphere);
        Matrix3d columns = eigen.Vectors.Transposed();
        return (
            new Vector3d(1 / eigen.Values.Z, 1 / eigen.Values.Y, 1 / eigen.Values.X),
            Matrix3d.FromColumns(columns.Row2, columns.Row1, -columns.Row0));
    }

    /// <summary>Signed distances of all points, and their derivatives; false when the matrix is no ellipsoid's.</summary>
    private bool Evaluate(Vector3d centre, Matrix3d toSphere, bool withDerivatives)
    {
        var eigen = SymmetricEigen3.Decompose(toSphere);
        if (!(eigen.Values.Z > 1 / LargestAxis))
        {
            return false;
        }

        Vector3d axes = new(1 / eigen.Values.X, 1 / eigen.Values.Y, 1 / eigen.Values.Z);
        Matrix3d toAxes = eigen.Vectors.Transposed();
        for (int i = 0; i < _points.Length; i++)
        {
            Vector3d local = toAxes * (_points[i] - centre);
            Vector3d foot = ClosestOnEllipsoid(local, axes);
            bool outside = new Vector3d(local.X / axes.X, local.Y / axes.Y, local.Z / axes.Z).LengthSquared > 1;
            _residuals[i] = outside ? Vector3d.Distance(local, foot) : -Vector3d.Distance(local, foot);
            if (withDerivatives)
            {
                Differentiate(eigen.Vectors * foot, toSphere, _derivatives.AsSpan(i * _unknowns, _unknowns));
            }
        }

        return true;
    }

    /// <summary>
    /// With <c>F(x) = |B (x - c)|^2 - 1</c> the distance changes by <c>dF / |grad F|</c>, taken at the foot.
    /// </summary>
    private void Differentiate(Vector3d foot, Matrix3d toSphere, Span<double> row)
    {
        Vector3d mapped = toSphere * foot;
        Vector3d gradient = toSphere * mapped;
        double inverse = 1 / gradient.Length;
        Vector3d y = foot * inverse;
        (row[0], row[1], row[2]) = (-gradient.X * inverse, -gradient.Y * inverse, -gradient.Z * inverse);
        (row[3], row[4], row[5]) = (mapped.X * y.X, mapped.Y * y.Y, mapped.Z * y.Z);
        if (!_axisAligned)
        {
            row[6] = (mapped.X * y.Y) + (mapped.Y * y.X);
            row[7] = (mapped.X * y.Z) + (mapped.Z * y.X);
            row[8] = (mapped.Y * y.Z) + (mapped.Z * y.Y);
        }
    }

    /// <summary>
    /// The foot of a point on an axis-aligned ellipsoid about the origin, <c>x_i = a_i^2 y_i / (t + a_i^2)</c>: the root
    /// t of a convex falling function, by Newton's method from its left.
    /// </summary>
    /// <param name="point">Any point.</param>
    /// <param name="axes">Half axes, positive.</param>
    internal static Vector3d ClosestOnEllipsoid(Vector3d point, Vector3d axes)
    {
        // Off the symmetry planes by a hair: there the foot would jump from one side to the other.
        static double Off(double y, double a) => Math.Max(Math.Abs(y), 1e-12 * a);
        Vector3d y = new(Off(point.X, axes.X), Off(point.Y, axes.Y), Off(point.Z, axes.Z));
        Vector3d squares = new(axes.X * axes.X, axes.Y * axes.Y, axes.Z * axes.Z);

        // s = t + the smallest square keeps its digits where t alone would cancel.
        double smallest = Math.Min(squares.X, Math.Min(squares.Y, squares.Z));
        Vector3d over = new(squares.X - smallest, squares.Y - smallest, squares.Z - smallest);
        double s = Math.Max(Math.Max((axes.X * y.X) - over.X, (axes.Y * y.Y) - over.Y), (axes.Z * y.Z) - over.Z);
        for (int iteration = 0; iteration < 100; iteration++)
        {
            Vector3d d = new(s + over.X, s + over.Y, s + over.Z);
            Vector3d n = new(axes.X * y.X / d.X, axes.Y * y.Y / d.Y, axes.Z * y.Z / d.Z);
            double slope = -2 * ((n.X * n.X / d.X) + (n.Y * n.Y / d.Y) + (n.Z * n.Z / d.Z));
            double next = s - ((n.LengthSquared - 1) / slope);
            if (!(next > s))
            {
                break;
            }

            s = next;
        }

        return new Vector3d(
            Math.CopySign(squares.X * y.X / (s + over.X), point.X),
            Math.CopySign(squares.Y * y.Y / (s + over.Y), point.Y),
            Math.CopySign(squares.Z * y.Z / (s + over.Z), point.Z));
    }

    private double Cost()
    {
        double sum = 0;
        for (int i = 0; i < _residuals.Length; i++)
        {
            sum += _robust.Current[i] * _residuals[i] * _residuals[i];
        }

        return sum;
    }

    /// <summary>The Gauss-Newton equations at the point that was evaluated with derivatives.</summary>
    private void FormNormalEquations()
    {
        Array.Clear(_normal);
        Array.Clear(_right);
        for (int i = 0; i < _points.Length; i++)
        {
            ReadOnlySpan<double> row = _derivatives.AsSpan(i * _unknowns, _unknowns);
            for (int k = 0; k < _unknowns; k++)
            {
                double weighted = _robust.Current[i] * row[k];
                _right[k] -= weighted * _residuals[i];
                for (int l = 0; l <= k; l++)
                {
                    _normal[(k * _unknowns) + l] += weighted * row[l];
                }
            }
        }
    }

    /// <summary>Solves the equations with a ridge of so much a point; null when they are singular.</summary>
    private double[]? TrySolve(double ridge, ReadOnlySpan<double> right)
    {
        var matrix = new SymmetricMatrix(_unknowns);
        for (int k = 0; k < _unknowns; k++)
        {
            _normal.AsSpan(k * _unknowns, k + 1).CopyTo(matrix.Row(k));
            matrix.Row(k)[k] += ridge * _points.Length;
        }

        double[] solution = right.ToArray();
        BlockedCholesky? factor = BlockedCholesky.TryFactor(matrix);
        factor?.Solve(solution);
        return factor is null ? null : solution;
    }

    private Matrix3d? CentreCovariance()
    {
        FormNormalEquations();
        double total = 0;
        foreach (double w in _robust.Current)
        {
            total += w;
        }

        double share = Math.Max(1 - ((double)_unknowns / _points.Length), 1.0 / _points.Length);
        double variance = Cost() / (total * share);
        Span<Vector3d> columns = stackalloc Vector3d[3];
        for (int axis = 0; axis < 3; axis++)
        {
            var unit = new double[_unknowns];
            unit[axis] = 1;
            if (TrySolve(0, unit) is not double[] column)
            {
                return null;
            }

            columns[axis] = new Vector3d(column[0], column[1], column[2]) * variance;
        }

        return Matrix3d.FromColumns(columns[0], columns[1], columns[2]);
    }

    private (Vector3d Centre, Matrix3d ToSphere) Moved(Vector3d centre, Matrix3d toSphere, double[] step)
    {
        Matrix3d change = Matrix3d.Diagonal(step[3], step[4], step[5]);
        if (!_axisAligned)
        {
            change += new Matrix3d(new(0, step[6], step[7]), new(step[6], 0, step[8]), new(step[7], step[8], 0));
        }

        return (centre + new Vector3d(step[0], step[1], step[2]), toSphere + change);
    }

    private static double Largest(double[] step)
    {
        double largest = 0;
        foreach (double s in step)
        {
            largest = Math.Max(largest, Math.Abs(s));
        }

        return largest;
    }
}
