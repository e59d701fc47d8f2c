namespace AutoPlace.Geometry;

/// <summary>What an ellipsoid fit is told beyond the points.</summary>
public sealed record EllipsoidFitOptions
{
    /// <summary>Keep the axes parallel to the coordinate axes (6 unknowns instead of 9).</summary>
    public bool AxisAligned { get; init; }

    /// <summary>Treatment of large residuals.</summary>
    public RobustLoss Loss { get; init; }
}

/// <summary>
/// The ellipsoid with the least squared distances to points, measured along its normals. It starts from the sphere fit
/// and goes on by damped Gauss-Newton steps (Levenberg 1944) on the centre and the symmetric matrix that turns the
/// ellipsoid into the unit sphere; distances are exact (Eberly 2013, "Distance from a point to an ellipse, an ellipsoid,
/// or a hyperellipsoid"; from memory).
/// </summary>
/// <param name="Centre">Centre, in the points' frame.</param>
/// <param name="HalfAxes">Half axes: along x, y, z when axis-aligned, else the largest first.</param>
/// <param name="Axes">Rotation with the axes' directions as columns.</param>
/// <param name="ResidualRms">Weighted root mean square of the distances.</param>
/// <param name="CentreCovariance">Covariance of the centre, from the residuals and the points' layout.</param>
/// <param name="Coverage">Share of directions covered, as in <see cref="SphereFit"/>, once turned into a sphere.</param>
public sealed record EllipsoidFit(
    Vector3d Centre, Vector3d HalfAxes, Matrix3d Axes, double ResidualRms, Matrix3d CentreCovariance, double Coverage)
{
    /// <summary>Fits an ellipsoid.</summary>
    /// <param name="points">N points, at least nine (six when axis-aligned), finite.</param>
    /// <param name="options">Null for the defaults.</param>
    /// <param name="weights">Weights of the points; empty for equal weights.</param>
    /// <returns>
    /// The fit, or null when the points fix no ellipsoid: too few, coplanar, an opening cap, or no convergence.
    /// </returns>
    /// <exception cref="ArgumentException">A point that isn't finite, or unusable weights.</exception>
    public static EllipsoidFit? TryFit(ReadOnlySpan<Vector3d> points, EllipsoidFitOptions? options = null, ReadOnlySpan<double> weights = default)
    {
        options ??= new EllipsoidFitOptions();
        int unknowns = options.AxisAligned ? 6 : 9;
        SphereFit? sphere = SphereFit.TryFit(points, new SphereFitOptions { Loss = options.Loss }, weights);
        return sphere is null || points.Length < unknowns
            ? null
            : new EllipsoidFitSolver(points, sphere, options, new RobustWeights(points.Length, weights, options.Loss)).Solve();
    }
}
