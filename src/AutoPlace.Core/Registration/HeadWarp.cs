using AutoPlace.Geometry;
using AutoPlace.Landmarks;
using AutoPlace.Template;

namespace AutoPlace.Registration;

/// <summary>The smooth map from the atlas to a head: a kernel-r spline through dense correspondences and landmarks.</summary>
public sealed class HeadWarp
{
    /// <summary>Weight of the bending energy against squared residuals over their variances.</summary>
    private const double Smoothing = 1e-3;

    private readonly PolyharmonicSpline _spline;

    private HeadWarp(PolyharmonicSpline spline)
    {
        _spline = spline;
    }

    /// <summary>Fits the map.</summary>
    /// <param name="template">The template, whose landmarks are known in the atlas.</param>
    /// <param name="controls">Control points found by dense correspondence.</param>
    /// <param name="landmarks">Landmarks found on the head; those inside it are left out.</param>
    /// <exception cref="ArgumentException">Fewer than four points in general position.</exception>
    public static HeadWarp Fit(TemplateHead template, IReadOnlyList<ControlPoint> controls, IReadOnlyList<Landmark> landmarks)
    {
        ArgumentNullException.ThrowIfNull(template);
        ArgumentNullException.ThrowIfNull(controls);
        ArgumentNullException.ThrowIfNull(landmarks);
        var sources = new List<Vector3d>();
        var targets = new List<Vector3d>();
        var variances = new List<double>();
        foreach (ControlPoint c in controls)
        {
            sources.Add(c.Atlas);
            targets.Add(c.Head);
            variances.Add(c.Variance);
        }

        foreach (Landmark l in landmarks)
        {
            if (l.Source != LandmarkSource.Inferred
                && !l.Name.StartsWith("eye_centre", StringComparison.Ordinal)
                && template.Landmarks.TryGetValue(l.Name, out Vector3d atlas))
            {
                sources.Add(atlas);
                targets.Add(l.Position);
                variances.Add(l.Covariance.Trace / 3);
            }
        }

        return new HeadWarp(PolyharmonicSpline.Fit([.. sources], [.. targets], [.. variances], Smoothing));
    }

    /// <summary>Maps an atlas point to the head frame.</summary>
    public Vector3d Apply(Vector3d atlas) => _spline.Apply(atlas);

    /// <summary>Derivative of the map: columns are the images of the atlas axes.</summary>
    public Matrix3d Jacobian(Vector3d atlas) => _spline.Jacobian(atlas);

    /// <summary>Outward normal on the head where the atlas has the given one.</summary>
    public Vector3d Normal(Vector3d atlas, Vector3d atlasNormal)
    {
        Matrix3d j = Jacobian(atlas);
        double det = j.Determinant;
        return det is > 1e-9 or < -1e-9
            ? (j.Inverse().Transposed() * atlasNormal).Normalized() * Math.Sign(det)
            : atlasNormal;
    }

    /// <summary>Rotation nearest to the map's derivative (polar decomposition), and the mean scale.</summary>
    public (Matrix3d Rotation, double Scale) LocalSimilarity(Vector3d atlas)
    {
        Matrix3d m = Jacobian(atlas);
        double scale = Math.Cbrt(Math.Max(Math.Abs(m.Determinant), 1e-12));

        // Newton's iteration for the orthogonal polar factor (Higham 1986): averages with the inverse transpose.
        Matrix3d r = m * (1 / scale);
        for (int i = 0; i < 20; i++)
        {
            if (Math.Abs(r.Determinant) < 1e-9)
            {
                return (Matrix3d.Identity, scale);
            }

            Matrix3d next = (r + r.Inverse().Transposed()) * 0.5;
            if ((next - r).Row0.LengthSquared + (next - r).Row1.LengthSquared + (next - r).Row2.LengthSquared < 1e-24)
            {
                return (next, scale);
            }

            r = next;
        }

        return (r, scale);
    }
}
