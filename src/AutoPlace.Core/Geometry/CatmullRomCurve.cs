namespace AutoPlace.Geometry;

/// <summary>
/// The centripetal Catmull-Rom curve through a row of points (Catmull and Rom 1974; Barry and Goldman 1988 for unequal
/// knots; Yuksel, Schaefer and Keyser 2011 show that with knots a square root of the distance apart no span has a cusp
/// or a loop; all from memory). Span i lies between points i and i + 1 and is run through as the parameter goes from i
/// to i + 1. The direction is continuous; the speed is continuous but for a factor at the points.
/// </summary>
public sealed class CatmullRomCurve
{
    private readonly Vector3d[] _points;
    private readonly Vector3d[] _leave;
    private readonly Vector3d[] _arrive;

    /// <summary>Prepares the curve.</summary>
    /// <param name="points">
    /// N points in sequence, at least one, finite. Where neighbours coincide the span between them is a point, and the
    /// spans beside it begin and end like those at the ends of a row: along their chord.
    /// </param>
    /// <param name="isClosed">The last point is followed by the first one; ignored below three points.</param>
    /// <exception cref="ArgumentException">No points, or one that isn't finite.</exception>
    public CatmullRomCurve(ReadOnlySpan<Vector3d> points, bool isClosed = false)
    {
        if (points.IsEmpty)
        {
            throw new ArgumentException("A curve needs a point.", nameof(points));
        }

        for (int i = 0; i < points.Length; i++)
        {
            if (!points[i].IsFinite)
            {
                throw new ArgumentException($"point {i}: {points[i]} is not finite", nameof(points));
            }
        }

        _points = points.ToArray();
        IsClosed = isClosed && points.Length > 2;
        SpanCount = IsClosed ? points.Length : points.Length - 1;
        _leave = new Vector3d[SpanCount];
        _arrive = new Vector3d[SpanCount];
        for (int i = 0; i < SpanCount; i++)
        {
            _leave[i] = EndVelocity(Neighbour(i - 1), Neighbour(i), Neighbour(i + 1)) ?? Vector3d.Zero;
            _arrive[i] = -EndVelocity(Neighbour(i + 2), Neighbour(i + 1), Neighbour(i)) ?? Vector3d.Zero;
        }
    }

    /// <summary>True when the last point is followed by the first one.</summary>
    public bool IsClosed { get; }

    /// <summary>Number of spans; the parameter goes from 0 to this.</summary>
    public int SpanCount { get; }

    /// <summary>The point at a parameter; beyond the ends that of the end (round again when closed).</summary>
    /// <param name="parameter">From 0 to <see cref="SpanCount"/>.</param>
    public Vector3d Position(double parameter)
    {
        if (SpanCount == 0)
        {
            return _points[0];
        }

        (int i, double t) = Locate(parameter);
        double s = 1 - t;
        return (_points[i] * (s * s * (1 + (2 * t)))) + (_points[(i + 1) % _points.Length] * (t * t * (1 + (2 * s))))
            + (_leave[i] * (s * s * t)) - (_arrive[i] * (t * t * s));
    }

    /// <summary>The derivative by the parameter; at a point that of the span that follows (the last one's at the end).</summary>
    /// <param name="parameter">From 0 to <see cref="SpanCount"/>.</param>
    public Vector3d Derivative(double parameter)
    {
        if (SpanCount == 0)
        {
            return Vector3d.Zero;
        }

        (int i, double t) = Locate(parameter);
        double s = 1 - t;
        return ((_points[(i + 1) % _points.Length] - _points[i]) * (6 * s * t))
            + (_leave[i] * (s * (1 - (3 * t)))) + (_arrive[i] * (t * (1 - (3 * s))));
    }

    /// <summary>The unit tangent; zero where the curve stands still.</summary>
    /// <param name="parameter">From 0 to <see cref="SpanCount"/>.</param>
    public Vector3d Tangent(double parameter) => Derivative(parameter).Normalized();

    /// <summary>
    /// Length between two parameters, by Gauss-Legendre quadrature with five nodes in each span (about 1e-4 relative on
    /// a span that turns by 90 degrees, far less on gentle ones).
    /// </summary>
    /// <param name="from">From 0 to <see cref="SpanCount"/>.</param>
    /// <param name="to">Not less than <paramref name="from"/>.</param>
    public double Length(double from, double to)
    {
        ReadOnlySpan<double> nodes = [0, 0.5384693101056831, 0.9061798459386640];
        ReadOnlySpan<double> weights = [0.5688888888888889, 0.4786286704993665, 0.2369268850561891];
        double length = 0;
        for (int span = (int)Math.Floor(from); span < to; span++)
        {
            double a = Math.Max(from, span), half = (Math.Min(to, span + 1) - a) / 2, middle = a + half;
            length += half * weights[0] * Derivative(middle).Length;
            for (int k = 1; k < 3; k++)
            {
                double off = half * nodes[k];
                length += half * weights[k] * (Derivative(middle - off).Length + Derivative(middle + off).Length);
            }
        }

        return length;
    }

    /// <summary>
    /// The curve's velocity at <paramref name="at"/> on its way to <paramref name="next"/>, in units of that span's
    /// parameter: the slope there of the parabola through the three points at their knots. Null when the span is a point.
    /// </summary>
    private static Vector3d? EndVelocity(Vector3d? before, Vector3d? at, Vector3d? next)
    {
        Vector3d chord = next!.Value - at!.Value;
        double ahead = Math.Sqrt(chord.Length);
        if (!(ahead > 0))
        {
            return null;
        }

        double behind = before is null ? 0 : Math.Sqrt(Vector3d.Distance(before.Value, at.Value));
        if (!(behind > 0))
        {
            return chord;
        }

        Vector3d slopeBehind = (at.Value - before!.Value) / behind, slopeAhead = chord / ahead;
        return ((slopeBehind * ahead) + (slopeAhead * behind)) * (ahead / (ahead + behind));
    }

    private Vector3d? Neighbour(int i) =>
        IsClosed ? _points[((i % _points.Length) + _points.Length) % _points.Length]
        : i >= 0 && i < _points.Length ? _points[i] : null;

    private (int Span, double Fraction) Locate(double parameter)
    {
        if (IsClosed)
        {
            parameter -= Math.Floor(parameter / SpanCount) * SpanCount;
        }

        double clamped = Math.Clamp(parameter, 0, SpanCount);
        int span = Math.Min((int)clamped, SpanCount - 1);
        return (span, clamped - span);
    }
}
