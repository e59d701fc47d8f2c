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

    /// <summary>Residuals, in standard deviations, at which a view's weight has dropped to half (Cauchy weights).</summary>
    private const double HalfWeightResidual = 2;

    /// <summary>Standard deviation of a tangent plane as a stand-in for the curved skin, interocular distances.</summary>
    private const double SurfaceSigma = 0.02;

    /// <summary>Floor of the combined standard deviation, interocular distances: errors that all views share.</summary>
    private const double CommonSigma = 0.01;

    /// <summary>
    /// Robust least squares over the views' rays, each weighted by 1 / sigma^2, and over the tangent planes of the
    /// skin that the rays meet; twelve rounds of reweighting by 1 / (1 + r^2 / 4). Along directions that no view
    /// measures the prior decides.
    /// </summary>
    /// <param name="observations">What the views see; at least one with positive weight.</param>
    /// <param name="prior">Where the landmark is expected, head frame.</param>
    /// <param name="priorSigma">Standard deviation of that expectation, interocular distances, positive.</param>
    /// <returns>The point in the head frame and its 3 x 3 covariance.</returns>
    public static (Vector3d Position, Matrix3d Covariance) Combine(
        ReadOnlySpan<LandmarkObservation> observations, Vector3d prior, double priorSigma)
    {
        ArgumentOutOfRangeException.ThrowIfNegativeOrZero(priorSigma);
        Span<double> trust = stackalloc double[observations.Length];
        trust.Fill(1);
        Vector3d position = prior;
        Matrix3d information = Matrix3d.Identity;
        for (int round = 0; round < Rounds; round++)
        {
            double priorInformation = 1 / (priorSigma * priorSigma);
            information = Matrix3d.Diagonal(priorInformation, priorInformation, priorInformation);
            Vector3d right = prior * priorInformation;
            for (int i = 0; i < observations.Length; i++)
            {
                Add(observations[i], observations[i].Weight * trust[i], ref information, ref right);
            }

            position = information.Inverse() * right;
            for (int i = 0; i < observations.Length; i++)
            {
                double r = Residual(observations[i], position) / HalfWeightResidual;
                trust[i] = 1 / (1 + (r * r));
            }
        }

        double common = CommonSigma * CommonSigma;
        return (position, information.Inverse() + Matrix3d.Diagonal(common, common, common));
    }

    private static void Add(in LandmarkObservation o, double weight, ref Matrix3d information, ref Vector3d right)
    {
        double sigma = o.Sigma / o.View.PixelsPerUnit;
        (double x, double y) = Offsets(o);
        AddEquation(o.View.Right, x, weight / (sigma * sigma), ref information, ref right);
        AddEquation(o.View.Up, y, weight / (sigma * sigma), ref information, ref right);
        if (o.Surface is { } plane)
        {
            double along = Vector3d.Dot(plane.Normal, plane.Point);
            AddEquation(plane.Normal, along, weight / (SurfaceSigma * SurfaceSigma), ref information, ref right);
        }
    }

    // direction . x = value, with the given information.
    private static void AddEquation(Vector3d direction, double value, double weight, ref Matrix3d information, ref Vector3d right)
    {
        information += Matrix3d.Outer(direction, direction) * weight;
        right += direction * (value * weight);
    }

    private static double Residual(in LandmarkObservation o, Vector3d position)
    {
        double sigma = o.Sigma / o.View.PixelsPerUnit;
        (double x, double y) = Offsets(o);
        double dx = Vector3d.Dot(position, o.View.Right) - x;
        double dy = Vector3d.Dot(position, o.View.Up) - y;
        return Math.Sqrt((dx * dx) + (dy * dy)) / sigma;
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
