using System.Runtime.Intrinsics;

namespace AutoPlace.Geometry;

/// <summary>
/// The factored equations of a smoothing spline, <c>(K + D) w + P a = y</c>, <c>P^T w = 0</c>, for a radial kernel K, a
/// diagonal D and affine functions P (Wahba 1990, Spline Models for Observational Data, section 2.4; from memory). With
/// <c>P = Q [R; 0]</c> and <c>w = Q2 z</c> they become <c>Q2^T (K + D) Q2 z = Q2^T y</c>, which is positive definite.
/// </summary>
internal sealed class PolyharmonicSystem
{
    private readonly AffineProjection _projection;
    private readonly BlockedCholesky _factor;

    /// <summary>For each of the N - m rows of the projected matrix its elements in the first m columns of Q^T (K + D) Q.</summary>
    private readonly Vector256<double>[] _cross;

    private PolyharmonicSystem(AffineProjection projection, BlockedCholesky factor, Vector256<double>[] cross)
    {
        _projection = projection;
        _factor = factor;
        _cross = cross;
    }

    /// <summary>Number of points.</summary>
    public int Count => _projection.Count;

    /// <summary>Assembles and factors the equations, O(N^3 / 3).</summary>
    /// <param name="points">N points, in no common plane (line).</param>
    /// <param name="diagonal">N elements of D, not negative.</param>
    /// <param name="affineColumns">4 in space, 3 in the plane z = 0.</param>
    /// <exception cref="ArgumentException">Too few points, coplanar points, or coincident points without variance.</exception>
    public static PolyharmonicSystem Create<TKernel>(
        ReadOnlySpan<Vector3d> points, ReadOnlySpan<double> diagonal, int affineColumns)
        where TKernel : struct, IRadialKernel
    {
        var projection = new AffineProjection(points, affineColumns);
        var kernel = new SymmetricMatrix(points.Length);
        Vector256<double>[] w = Assemble<TKernel>(kernel, points, diagonal, projection);
        CompleteUpdate(w, projection);
        (SymmetricMatrix projected, Vector256<double>[] cross) = Project(kernel, projection, w);
        BlockedCholesky? factor = BlockedCholesky.TryFactor(projected);
        return factor is null
            ? throw new ArgumentException(DescribeCoincidence(points, diagonal), nameof(points))
            : new PolyharmonicSystem(projection, factor, cross);
    }

    /// <summary>Solves for one coordinate.</summary>
    /// <param name="values">N values y.</param>
    /// <param name="weights">Receives N weights w.</param>
    /// <returns>Constant and gradient of the affine part.</returns>
    public (double Constant, Vector3d Gradient) Solve(ReadOnlySpan<double> values, Span<double> weights)
    {
        int m = _projection.Columns;
        values.CopyTo(weights);
        _projection.ApplyTransposed(weights);
        _factor.Solve(weights[m..]);
        return Finish(values, weights);
    }

    /// <summary>Replaces Q2^T y, for one or more vectors of N - m elements, by z.</summary>
    public void SolveProjected(Span<double> vectors) => _factor.Solve(vectors);

    /// <summary>Replaces a vector of N elements by <c>Q^T x</c>; the first m elements belong to the affine part.</summary>
    public void Project(Span<double> x) => _projection.ApplyTransposed(x);

    /// <summary>Replaces a vector of N elements by <c>Q x</c>.</summary>
    public void Expand(Span<double> x) => _projection.Apply(x);

    /// <summary>Number of affine functions m.</summary>
    public int AffineColumns => _projection.Columns;

    /// <summary>From z (elements m to N - 1 of <paramref name="weights"/>) to the weights and the affine part.</summary>
    /// <param name="values">N values, less what D's replacement takes when that isn't the factored one.</param>
    /// <param name="weights">z before, w after.</param>
    public (double Constant, Vector3d Gradient) Finish(ReadOnlySpan<double> values, Span<double> weights)
    {
        int m = _projection.Columns;
        double[] projected = values.ToArray();
        _projection.ApplyTransposed(projected);
        Vector256<double> taken = default;
        for (int i = 0; i < _cross.Length; i++)
        {
            taken += _cross[i] * weights[m + i];
        }

        Span<double> head = stackalloc double[AffineProjection.Width];
        for (int c = 0; c < m; c++)
        {
            head[c] = projected[c] - taken[c];
        }

        weights[..m].Clear();
        _projection.Apply(weights);
        return _projection.SolveAffine(head);
    }

    /// <summary>Fills K + D (lower triangle) and returns the N rows of (K + D) V.</summary>
    private static Vector256<double>[] Assemble<TKernel>(
        SymmetricMatrix kernel, ReadOnlySpan<Vector3d> points, ReadOnlySpan<double> diagonal, AffineProjection projection)
        where TKernel : struct, IRadialKernel
    {
        Vector256<double>[] v = projection.V;
        var product = new Vector256<double>[points.Length];
        for (int i = 0; i < points.Length; i++)
        {
            Span<double> row = kernel.Row(i);
            Vector3d p = points[i];
            Vector256<double> vi = v[i], sum = vi * diagonal[i];
            for (int j = 0; j < i; j++)
            {
                double k = TKernel.At((p - points[j]).LengthSquared);
                row[j] = k;
                sum += v[j] * k;
                product[j] += vi * k;
            }

            row[i] = diagonal[i];
            product[i] += sum;
        }

        return product;
    }

    /// <summary>
    /// From K V to <c>W = K V T - V T^T (V^T K V) T / 2</c>, with which <c>Q^T K Q = K - V W^T - W V^T</c>.
    /// </summary>
    private static void CompleteUpdate(Vector256<double>[] w, AffineProjection projection)
    {
        Vector256<double>[] v = projection.V;
        Span<Vector256<double>> gram = stackalloc Vector256<double>[AffineProjection.Width];
        gram.Clear();
        for (int i = 0; i < w.Length; i++)
        {
            w[i] = projection.TimesT(w[i]);
            for (int r = 0; r < AffineProjection.Width; r++)
            {
                gram[r] += w[i] * v[i][r];
            }
        }

        // gram = V^T K V T; from here on T^T gram / 2, row by row.
        Span<Vector256<double>> turned = stackalloc Vector256<double>[AffineProjection.Width];
        turned.Clear();
        for (int k = 0; k < AffineProjection.Width; k++)
        {
            Vector256<double> unit = Vector256<double>.Zero.WithElement(k, 0.5);
            Vector256<double> tRow = projection.TimesT(unit);
            for (int r = 0; r < AffineProjection.Width; r++)
            {
                turned[r] += gram[k] * tRow[r];
            }
        }

        for (int i = 0; i < w.Length; i++)
        {
            for (int r = 0; r < AffineProjection.Width; r++)
            {
                w[i] -= turned[r] * v[i][r];
            }
        }
    }

    private static (SymmetricMatrix Projected, Vector256<double>[] Cross) Project(
        SymmetricMatrix kernel, AffineProjection projection, Vector256<double>[] w)
    {
        int m = projection.Columns, n = w.Length - m;
        Vector256<double>[] v = projection.V;
        var projected = new SymmetricMatrix(n);
        var cross = new Vector256<double>[n];
        Span<double> head = stackalloc double[AffineProjection.Width];
        for (int i = 0; i < n; i++)
        {
            ReadOnlySpan<double> from = kernel.Row(m + i);
            Vector256<double> vi = v[m + i], wi = w[m + i];
            head.Clear();
            for (int j = 0; j < m; j++)
            {
                head[j] = from[j] - Vector256.Sum((vi * w[j]) + (wi * v[j]));
            }

            cross[i] = Vector256.Create<double>(head);
            Span<double> to = projected.Row(i);
            for (int j = 0; j <= i; j++)
            {
                to[j] = from[m + j] - Vector256.Sum((vi * w[m + j]) + (wi * v[m + j]));
            }
        }

        return (projected, cross);
    }

    private static string DescribeCoincidence(ReadOnlySpan<Vector3d> points, ReadOnlySpan<double> diagonal)
    {
        (int First, int Second, double Distance) closest = (0, 0, double.PositiveInfinity);
        for (int i = 0; i < points.Length; i++)
        {
            for (int j = 0; j < i; j++)
            {
                double distance = Vector3d.Distance(points[i], points[j]);
                if (distance < closest.Distance && Math.Min(diagonal[i], diagonal[j]) == 0)
                {
                    closest = (j, i, distance);
                }
            }
        }

        return $"The equations are singular: points {closest.First} and {closest.Second} are {closest.Distance:g3} apart and "
            + "at least one of them has no variance.";
    }
}
