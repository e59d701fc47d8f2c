using AutoPlace.Geometry;
using AutoPlace.Rendering;

namespace AutoPlace.Landmarks;

/// <summary>Where one view sees a landmark.</summary>
/// <param name="View">The view; its size is that of the image in which the pixel is given.</param>
/// <param name="PixelX">Continuous pixel coordinate to the right.</param>
/// <param name="PixelY">Continuous pixel coordinate down.</param>
/// <param name="Sigma">Standard deviation of the pixel coordinates, pixels, positive.</param>
/// <param name="Weight">Weight in [0, 1]: how likely the view shows the landmark at all.</param>
/// <param name="Surface">The skin seen at that pixel, when the landmark lies on the skin and is visible there.</param>
public readonly record struct LandmarkObservation(
    OrthographicView View, double PixelX, double PixelY, double Sigma, double Weight, TangentPlane? Surface = null);

/// <summary>A plane that touches the skin.</summary>
/// <param name="Point">Point on the skin, head frame.</param>
/// <param name="Normal">Unit normal.</param>
public readonly record struct TangentPlane(Vector3d Point, Vector3d Normal);

/// <summary>Combines what several views see of a landmark into a point in space.</summary>
public static class LandmarkTriangulation
{
    private const int Rounds = 12;
    private const int RaysAlone = 3;

    /// <summary>Residuals, in standard deviations, at which a view's weight has dropped to half (Cauchy weights).</summary>
    private const double HalfWeightResidual = 2;

    /// <summary>Standard deviation of the depth seen at a pixel as the landmark's depth, on skin that faces the viewer, interocular distances.</summary>
    private const double DepthSigma = 0.03;

    /// <summary>Skin more oblique than this (cosine between normal and line of sight) says nothing of the depth.</summary>
    private const double LeastFacing = 0.3;

    /// <summary>Floor of the combined standard deviation, interocular distances: errors that all views share.</summary>
    private const double CommonSigma = 0.01;

    /// <summary>
    /// Robust least squares over the views' rays, each weighted by 1 / sigma^2, and over the depths of the skin that
    /// the rays meet; twelve rounds of reweighting by 1 / (1 + r^2 / 4), rays and depths each for themselves. Along
    /// directions that no view measures the prior decides.
    /// </summary>
    /// <param name="observations">What the views see; at least one with positive weight.</param>
    /// <param name="prior">Where the landmark is expected, head frame.</param>
    /// <param name="priorSigma">Standard deviation of that expectation, interocular distances, positive.</param>
    /// <returns>The point in the head frame and its 3 x 3 covariance.</returns>
    public static (Vector3d Position, Matrix3d Covariance) Combine(
        ReadOnlySpan<LandmarkObservation> observations, Vector3d prior, double priorSigma)
    {
        ArgumentOutOfRangeException.ThrowIfNegativeOrZero(priorSigma);
        Span<double> rayTrust = stackalloc double[observations.Length];
        Span<double> depthTrust = stackalloc double[observations.Length];
        rayTrust.Fill(1);

        // Depths join in once the rays have met: through an open eye a view may see the back of the head.
        depthTrust.Clear();
        Vector3d position = prior;
        Matrix3d information = Matrix3d.Identity;
        for (int round = 0; round < Rounds; round++)
        {
            double priorInformation = 1 / (priorSigma * priorSigma);
            information = Matrix3d.Diagonal(priorInformation, priorInformation, priorInformation);
            Vector3d right = prior * priorInformation;
            for (int i = 0; i < observations.Length; i++)
            {
                LandmarkObservation o = observations[i];
                double sigma = o.Sigma / o.View.PixelsPerUnit;
                double ray = o.Weight * rayTrust[i] / (sigma * sigma);
                (double x, double y) = Offsets(o);
                AddEquation(o.View.Right, x, ray, ref information, ref right);
                AddEquation(o.View.Up, y, ray, ref information, ref right);
                if (Depth(o) is { } depth)
                {
                    AddEquation(o.View.Toward, depth.Value, o.Weight * depthTrust[i] / depth.Variance, ref information, ref right);
                }
            }

            position = information.Inverse() * right;
            for (int i = 0; i < observations.Length; i++)
            {
                LandmarkObservation o = observations[i];
                (double x, double y) = Offsets(o);
                double dx = Vector3d.Dot(position, o.View.Right) - x, dy = Vector3d.Dot(position, o.View.Up) - y;
                double sigma = o.Sigma / o.View.PixelsPerUnit;
                rayTrust[i] = Trust(((dx * dx) + (dy * dy)) / (sigma * sigma));
                if (round + 1 >= RaysAlone && Depth(o) is { } depth)
                {
                    double dz = Vector3d.Dot(position, o.View.Toward) - depth.Value;
                    depthTrust[i] = Trust(dz * dz / depth.Variance);
                }
            }
        }

        double common = CommonSigma * CommonSigma;
        return (position, information.Inverse() + Matrix3d.Diagonal(common, common, common));
    }

    private static double Trust(double squaredResidual) => 1 / (1 + (squaredResidual / (HalfWeightResidual * HalfWeightResidual)));

    // Depth along the line of sight; on oblique skin an error in the image becomes one in depth.
    private static (double Value, double Variance)? Depth(in LandmarkObservation o)
    {
        if (o.Surface is not { } plane)
        {
            return null;
        }

        double facing = Math.Abs(Vector3d.Dot(plane.Normal, o.View.Toward));
        if (facing < LeastFacing)
        {
            return null;
        }

        double slope = Math.Sqrt(1 - Math.Min(1, facing * facing)) / facing;
        double oblique = slope * o.Sigma / o.View.PixelsPerUnit;
        return (Vector3d.Dot(plane.Point, o.View.Toward), (DepthSigma * DepthSigma) + (oblique * oblique));
    }

    // direction . x = value, with the given information.
    private static void AddEquation(Vector3d direction, double value, double weight, ref Matrix3d information, ref Vector3d right)
    {
        information += Matrix3d.Outer(direction, direction) * weight;
        right += direction * (value * weight);
    }

    // The pixel's coordinates along the view's right and up axes, measured from the frame's origin.
    private static (double X, double Y) Offsets(in LandmarkObservation o)
    {
        double half = o.View.Size * 0.5;
        return (
            Vector3d.Dot(o.View.Centre, o.View.Right) + ((o.PixelX - half) / o.View.PixelsPerUnit),
            Vector3d.Dot(o.View.Centre, o.View.Up) + ((half - o.PixelY) / o.View.PixelsPerUnit));
    }
}
