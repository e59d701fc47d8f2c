using AutoPlace.Geometry;

namespace AutoPlace.Verification;

/// <summary>Radius about an estimate that holds the true point with a given confidence.</summary>
public static class ConfidenceRadius
{
    /// <summary>The 0.9 quantile of the standard normal distribution.</summary>
    private const double NormalQuantile90 = 1.2815515655446004;

    /// <summary>
    /// 90 % quantile of the distance from the mean of a normal distribution in three dimensions. The squared distance
    /// is a sum of weighted chi-squared variables; it is matched by a scaled chi-squared of the same mean and variance
    /// (Satterthwaite 1946), whose quantile is taken by Wilson and Hilferty's cube root (1931). Within 0.4 % when all
    /// axes spread alike, 1.3 % on a line.
    /// </summary>
    /// <param name="covariance">Symmetric 3 x 3 covariance; the radius has the unit of its square root.</param>
    /// <returns>The radius; 0 when nothing spreads.</returns>
    public static double Of90(Matrix3d covariance)
    {
        double mean = covariance.Trace;
        double halfVariance = (covariance * covariance).Trace;
        if (mean <= 0 || halfVariance <= 0)
        {
            return 0;
        }

        double relative = 2 * halfVariance / (9 * mean * mean);
        double root = 1 - relative + (NormalQuantile90 * Math.Sqrt(relative));
        return Math.Sqrt(mean * root * root * root);
    }

    /// <summary>A covariance of the same shape with another 90 % radius; of no shape, the same along all axes.</summary>
    /// <param name="covariance">Symmetric 3 x 3 covariance.</param>
    /// <param name="radius">The radius, not negative.</param>
    public static Matrix3d Scaled(Matrix3d covariance, double radius)
    {
        double now = Of90(covariance);
        (Matrix3d shape, double unit) = now > 0 ? (covariance, now) : (Matrix3d.Identity, Of90(Matrix3d.Identity));
        return shape * (radius / unit * (radius / unit));
    }
}
