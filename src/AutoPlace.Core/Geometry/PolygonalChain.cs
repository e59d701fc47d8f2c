namespace AutoPlace.Geometry;

/// <summary>A place on a line.</summary>
/// <param name="Edge">Number of the edge, which leads from the point of that number to the next.</param>
/// <param name="Fraction">Where on the edge, 0 to 1.</param>
/// <param name="Position">The place itself.</param>
/// <param name="Along">Length of the line up to there.</param>
/// <param name="EdgeLength">Length of the edge.</param>
public readonly record struct LinePlace(int Edge, double Fraction, Vector3d Position, double Along, double EdgeLength);

/// <summary>Straight edges from point to point, and of a closed line back to the first. Doesn't change.</summary>
public sealed class PolygonalChain
{
    private readonly Vector3d[] _points;
    private readonly double[] _along;

    /// <summary>Takes over the points.</summary>
    /// <param name="points">The points; a closed line doesn't repeat the first.</param>
    /// <param name="closed">True for a line that ends where it begins.</param>
    /// <exception cref="ArgumentException">There is no point.</exception>
    public PolygonalChain(Vector3d[] points, bool closed)
    {
        ArgumentNullException.ThrowIfNull(points);
        if (points.Length == 0)
        {
            throw new ArgumentException("A line has at least one point.", nameof(points));
        }

        _points = points;
        IsClosed = closed;
        _along = new double[closed ? points.Length + 1 : points.Length];
        for (int i = 0; i + 1 < _along.Length; i++)
        {
            _along[i + 1] = _along[i] + Vector3d.Distance(points[i], points[(i + 1) % points.Length]);
        }
    }

    /// <summary>True for a line that ends where it begins.</summary>
    public bool IsClosed { get; }

    /// <summary>The points.</summary>
    public ReadOnlySpan<Vector3d> Points => _points;

    /// <summary>Length of the line up to each point; of a closed line also all round.</summary>
    public IReadOnlyList<double> Along => _along;

    /// <summary>Length from end to end, of a closed line all round.</summary>
    public double Length => _along[^1];

    /// <summary>The mean of the line, which has a length.</summary>
    public Vector3d Middle
    {
        get
        {
            Vector3d sum = Vector3d.Zero;
            for (int i = 0; i + 1 < _along.Length; i++)
            {
                sum += (_points[i] + _points[(i + 1) % _points.Length]) * ((_along[i + 1] - _along[i]) / 2);
            }

            return sum * (1 / Length);
        }
    }

    /// <summary>Length of the line up to a place.</summary>
    /// <param name="edge">Number of the edge.</param>
    /// <param name="fraction">Where on it, 0 to 1.</param>
    public double AlongOf(int edge, double fraction) => _along[edge] + (fraction * (_along[edge + 1] - _along[edge]));

    /// <summary>The place at a length along the line; a closed line goes on round and round, another ends.</summary>
    /// <param name="along">The length; the line has an edge.</param>
    public LinePlace At(double along)
    {
        along = IsClosed ? along - (Math.Floor(along / Length) * Length) : Math.Clamp(along, 0, Length);
        int found = Array.BinarySearch(_along, along);
        int edge = Math.Clamp(found >= 0 ? found : ~found - 1, 0, _along.Length - 2);
        double length = _along[edge + 1] - _along[edge];
        double t = length > 0 ? Math.Clamp((along - _along[edge]) / length, 0, 1) : 0;
        return new LinePlace(edge, t, Vector3d.Lerp(_points[edge], _points[(edge + 1) % _points.Length], t), along, length);
    }

    /// <summary>The nearest place; of equally near ones the first.</summary>
    public LinePlace Nearest(Vector3d point) => Best(point, (_, _) => 0);

    /// <summary>The place with the least sum of squared distance and something else.</summary>
    /// <param name="point">The point to be near to.</param>
    /// <param name="besides">For edge and fraction what is added.</param>
    public LinePlace Best(Vector3d point, Func<int, double, double> besides)
    {
        ArgumentNullException.ThrowIfNull(besides);
        (double least, LinePlace best) = (double.PositiveInfinity, default);
        for (int i = 0; i + 1 < _along.Length; i++)
        {
            Vector3d from = _points[i], side = _points[(i + 1) % _points.Length] - from;
            double squared = side.LengthSquared;
            double t = squared > 0 ? Math.Clamp(Vector3d.Dot(point - from, side) / squared, 0, 1) : 0;
            Vector3d at = from + (side * t);
            double cost = (point - at).LengthSquared + besides(i, t);
            if (cost < least)
            {
                double length = _along[i + 1] - _along[i];
                (least, best) = (cost, new LinePlace(i, t, at, _along[i] + (t * length), length));
            }
        }

        return best;
    }
}
