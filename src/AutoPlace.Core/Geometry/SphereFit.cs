namespace AutoPlace.Geometry;

/// <summary>What a sphere fit is told beyond the points.</summary>
public sealed record SphereFitOptions
{
    /// <summary>Radius to keep, positive; null to estimate it.</summary>
    public double? FixedRadius { get; init; }

    /// <summary>What is known of the radius beforehand: mean and standard deviation, both positive; null for nothing.</summary>
    public (double Mean, double Deviation)? RadiusPrior { get; init; }

    /// <summary>Treatment of large residuals.</summary>
    public RobustLoss Loss { get; init; }
}

/// <summary>
/// The sphere with the least squared distances to points. It starts from the algebraic fit (Kasa 1976), which is biased
/// towards small spheres on a cap, and goes on to the geometric one by damped Gauss-Newton steps (Shakarji 1998, J Res
/// NIST 103(6)), which isn't.
/// </summary>
/// <param name="Centre">Centre, in the points' frame.</param>
/// <param name="Radius">Radius.</param>
/// <param name="ResidualRms">Weighted root mean square of the distances from the sphere.</param>
/// <param name="CentreCovariance">
/// Covariance of the centre, from the residuals and the points' layout; with a prior of the radius included, with a
/// fixed radius as if it were exact.
/// </param>
/// <param name="RadiusVariance">Variance of the radius; 0 when it was fixed.</param>
/// <param name="Coverage">
/// Share of the sphere's solid angle that the points cover, 0 to 1: one less the length of the mean direction, which is
/// right for a cap with evenly spread points (half a sphere: 0.5). Points that surround the centre without covering the
/// sphere, like a ring, come out too high.
/// </param>
public sealed record SphereFit(
    Vector3d Centre, double Radius, double ResidualRms, Matrix3d CentreCovariance, double RadiusVariance, double Coverage)
{
    private const int MaxIterations = 200;

    /// <summary>Steps below this share of the radius end the fit.</summary>
    private const double StepTolerance = 1e-12;

    /// <summary>Directions that the points fix this little beside the others count as not fixed.</summary>
    private const double RankTolerance = 1e-13;

    /// <summary>Fits a sphere.</summary>
    /// <param name="points">N points, at least four (three when the radius is fixed), finite.</param>
    /// <param name="options">Null for the defaults.</param>
    /// <param name="weights">Weights of the points; empty for equal weights.</param>
    /// <returns>The fit, or null when the points fix no sphere: too few or coplanar ones, or no convergence.</returns>
    /// <exception cref="ArgumentException">A point that isn't finite, unusable weights or options.</exception>
    public static SphereFit? TryFit(ReadOnlySpan<Vector3d> points, SphereFitOptions? options = null, ReadOnlySpan<double> weights = default)
    {
        options ??= new SphereFitOptions();
        Validate(points, options);
        var robust = new RobustWeights(points.Length, weights, options.Loss);
        int unknowns = options.FixedRadius is null ? 4 : 3;
        if (points.Length < unknowns || Algebraic(points, robust.Current) is not (Vector3d centre, double radius))
        {
            return null;
        }

        if (options.FixedRadius is double fixedRadius)
        {
            // On a flat cap the algebraic centre can lie anywhere on the axis: bring it to the radius asked for.
            Vector3d mean = Mean(points, robust.Current), offset = centre - mean;
            centre = offset.Length <= fixedRadius ? centre : mean + (offset * (fixedRadius / offset.Length));
            radius = fixedRadius;
        }

        return Refine(points, options, robust, centre, radius, unknowns);
    }

    private static SphereFit? Refine(
        ReadOnlySpan<Vector3d> points, SphereFitOptions options, RobustWeights robust, Vector3d centre, double radius, int unknowns)
    {
        var residuals = new double[points.Length];
        double damping = 1e-6;
        for (int iteration = 0; iteration < MaxIterations; iteration++)
        {
            Residuals(points, centre, radius, residuals);
            robust.Update(residuals);
            var normal = NormalEquations.Form(points, robust.Current, residuals, centre, options, radius, unknowns);
            double cost = normal.Cost;
            (Vector3d nextCentre, double nextRadius, bool improved) = (centre, radius, false);
            while (damping < 1e12)
            {
                (Vector3d step, double radiusStep) = normal.Step(damping);
                (nextCentre, nextRadius) = (centre + step, radius + radiusStep);
                Residuals(points, nextCentre, nextRadius, residuals);
                if (nextRadius > 0 && normal.CostOf(residuals, robust.Current, nextRadius) <= cost)
                {
                    improved = true;
                    damping = Math.Max(damping / 10, 1e-12);
                    break;
                }

                damping *= 10;
            }

            double moved = Vector3d.Distance(centre, nextCentre) + Math.Abs(nextRadius - radius);
            if (improved)
            {
                (centre, radius) = (nextCentre, nextRadius);
            }

            if ((!improved || moved <= StepTolerance * radius) && robust.IsSettled)
            {
                return Describe(points, options, robust, centre, radius, unknowns);
            }

            damping = Math.Min(damping, 1e3);
        }

        return null;
    }

    private static SphereFit? Describe(
        ReadOnlySpan<Vector3d> points, SphereFitOptions options, RobustWeights robust, Vector3d centre, double radius, int unknowns)
    {
        var residuals = new double[points.Length];
        Residuals(points, centre, radius, residuals);
        var normal = NormalEquations.Form(points, robust.Current, residuals, centre, options, radius, unknowns);
        var eigen = SymmetricEigen3.Decompose(normal.Schur);
        if (!(eigen.Values.Z > RankTolerance * normal.Total))
        {
            return null;
        }

        Matrix3d inverse = normal.Schur.Inverse();
        Vector3d lever = normal.Mixed / normal.RadiusWeight;
        double radiusVariance = unknowns == 3 ? 0
            : normal.Variance * ((1 / normal.RadiusWeight) + Vector3d.Dot(lever, inverse * lever));
        return new SphereFit(
            centre,
            radius,
            Math.Sqrt(normal.SquareSum / normal.Total),
            inverse * normal.Variance,
            radiusVariance,
            1 - (normal.Mixed.Length / normal.Total));
    }

    private static void Validate(ReadOnlySpan<Vector3d> points, SphereFitOptions options)
    {
        for (int i = 0; i < points.Length; i++)
        {
            if (!points[i].IsFinite)
            {
                throw new ArgumentException($"point {i}: {points[i]} is not finite", nameof(points));
            }
        }

        if (options.FixedRadius is double radius && !(radius > 0 && double.IsFinite(radius)))
        {
            throw new ArgumentException($"A radius of {radius}.", nameof(options));
        }

        if (options.RadiusPrior is (double mean, double deviation)
            && !(mean > 0 && deviation > 0 && double.IsFinite(mean) && double.IsFinite(deviation)))
        {
            throw new ArgumentException($"A prior of {mean} with deviation {deviation}.", nameof(options));
        }
    }

    private static Vector3d Mean(ReadOnlySpan<Vector3d> points, double[] weights)
    {
        Vector3d sum = Vector3d.Zero;
        double total = 0;
        for (int i = 0; i < points.Length; i++)
        {
            sum += points[i] * weights[i];
            total += weights[i];
        }

        return sum / total;
    }

    /// <summary>Kasa's fit: <c>|p|^2 = 2 c . p + k</c> by linear least squares, about the points' mean.</summary>
    private static (Vector3d Centre, double Radius)? Algebraic(ReadOnlySpan<Vector3d> points, double[] weights)
    {
        Vector3d mean = Mean(points, weights), right = Vector3d.Zero;
        var scatter = default(Matrix3d);
        double squares = 0, total = 0;
        for (int i = 0; i < points.Length; i++)
        {
            Vector3d q = points[i] - mean;
            scatter += Matrix3d.Outer(q, q) * weights[i];
            right += q * (0.5 * weights[i] * q.LengthSquared);
            squares += weights[i] * q.LengthSquared;
            total += weights[i];
        }

        var eigen = SymmetricEigen3.Decompose(scatter);
        if (!(eigen.Values.Z > RankTolerance * eigen.Values.X))
        {
            return null;
        }

        Vector3d centre = scatter.Inverse() * right;
        return (mean + centre, Math.Sqrt(centre.LengthSquared + (squares / total)));
    }

    private static void Residuals(ReadOnlySpan<Vector3d> points, Vector3d centre, double radius, double[] residuals)
    {
        for (int i = 0; i < points.Length; i++)
        {
            residuals[i] = Vector3d.Distance(points[i], centre) - radius;
        }
    }

    /// <summary>The Gauss-Newton equations, with the radius eliminated (unless fixed).</summary>
    private readonly struct NormalEquations
    {
        private readonly Vector3d _right;
        private readonly double _radiusRight;
        private readonly double _priorWeight;
        private readonly double _priorMean;
        private readonly bool _isFixed;

        private NormalEquations(
            Matrix3d block, Vector3d mixed, Vector3d right, double total, double sum, double squareSum, int count, int unknowns, SphereFitOptions options, double radius)
        {
            (Mixed, _right, Total, SquareSum) = (mixed, right, total, squareSum);
            _isFixed = options.FixedRadius is not null;

            // Weights have mean 1, so they count points; robust ones count those that are left.
            Variance = squareSum / (total * Math.Max(1 - ((double)unknowns / count), 1.0 / count));
            if (options.RadiusPrior is (double mean, double deviation))
            {
                (_priorWeight, _priorMean) = (Variance / (deviation * deviation), mean);
            }

            RadiusWeight = total + _priorWeight;
            _radiusRight = sum - (_priorWeight * (radius - _priorMean));
            Schur = _isFixed ? block : block - (Matrix3d.Outer(mixed, mixed) * (1 / RadiusWeight));
            Cost = squareSum + (_priorWeight * (radius - _priorMean) * (radius - _priorMean));
        }

        /// <summary>Sum of w u u^T, less what the radius takes over.</summary>
        public Matrix3d Schur { get; }

        /// <summary>Sum of w u.</summary>
        public Vector3d Mixed { get; }

        /// <summary>Sum of w.</summary>
        public double Total { get; }

        /// <summary>Sum of w, and the prior's weight.</summary>
        public double RadiusWeight { get; }

        /// <summary>Sum of w r^2.</summary>
        public double SquareSum { get; }

        /// <summary>Variance of a residual.</summary>
        public double Variance { get; }

        /// <summary>What the step should lower.</summary>
        public double Cost { get; }

        public static NormalEquations Form(
            ReadOnlySpan<Vector3d> points, double[] weights, double[] residuals, Vector3d centre, SphereFitOptions options, double radius, int unknowns)
        {
            var block = default(Matrix3d);
            Vector3d mixed = Vector3d.Zero, right = Vector3d.Zero;
            double total = 0, sum = 0, squareSum = 0;
            for (int i = 0; i < points.Length; i++)
            {
                double w = weights[i], r = residuals[i];
                Vector3d u = (points[i] - centre).Normalized();
                block += Matrix3d.Outer(u, u) * w;
                mixed += u * w;
                right += u * (w * r);
                total += w;
                sum += w * r;
                squareSum += w * r * r;
            }

            return new NormalEquations(block, mixed, right, total, sum, squareSum, points.Length, unknowns, options, radius);
        }

        public (Vector3d Centre, double Radius) Step(double damping)
        {
            double ridge = damping * Total;
            Matrix3d damped = Schur + Matrix3d.Diagonal(ridge, ridge, ridge);
            if (_isFixed)
            {
                return (damped.Inverse() * _right, 0);
            }

            Vector3d centre = damped.Inverse() * (_right - (Mixed * (_radiusRight / RadiusWeight)));
            return (centre, (_radiusRight - Vector3d.Dot(Mixed, centre)) / RadiusWeight);
        }

        public double CostOf(double[] residuals, double[] weights, double radius)
        {
            double sum = _priorWeight * (radius - _priorMean) * (radius - _priorMean);
            for (int i = 0; i < residuals.Length; i++)
            {
                sum += weights[i] * residuals[i] * residuals[i];
            }

            return sum;
        }
    }
}
