using System.Runtime.Intrinsics;

namespace AutoPlace.Geometry;

/// <summary>
/// QR factors of the N x m block of affine functions at N points (m up to 4: constant and coordinates), as
/// <c>Q = I - V T V^T</c> (compact WY form, Schreiber and Van Loan 1989). The last N - m columns of Q span the weights
/// that annihilate affine functions.
/// </summary>
internal sealed class AffineProjection
{
    /// <summary>Columns of V, T and R that are kept, used or not.</summary>
    public const int Width = 4;

    /// <summary>Points whose extent across their widest plane is under this share of the whole count as coplanar.</summary>
    private const double RankTolerance = 1e-9;

    private readonly double[] _t = new double[Width * Width];
    private readonly double[] _r = new double[Width * Width];
    private readonly Vector3d _centre;
    private readonly double _scale;

    /// <summary>Factors the block.</summary>
    /// <param name="points">N points.</param>
    /// <param name="columns">m: 1 + the number of coordinates that count (4 in space, 3 in the plane z = 0).</param>
    /// <exception cref="ArgumentException">Fewer than m points, or all in one plane (line in the plane).</exception>
    public AffineProjection(ReadOnlySpan<Vector3d> points, int columns)
    {
        Count = points.Length;
        Columns = columns;
        if (Count < columns)
        {
            throw new ArgumentException($"{Count} points; a spline with an affine part needs {columns}.", nameof(points));
        }

        foreach (Vector3d p in points)
        {
            _centre += p / Count;
        }

        double spread = 0;
        foreach (Vector3d p in points)
        {
            spread = Math.Max(spread, (p - _centre).Length);
        }

        _scale = spread > 0 ? 1 / spread : 1;
        var block = new Vector256<double>[Count];
        for (int i = 0; i < Count; i++)
        {
            Vector3d p = (points[i] - _centre) * _scale;
            block[i] = Vector256.Create(1, p.X, p.Y, p.Z);
        }

        V = block;
        Factor(block);
    }

    /// <summary>Number of points N.</summary>
    public int Count { get; }

    /// <summary>Number of affine functions m.</summary>
    public int Columns { get; }

    /// <summary>N rows of V, four columns; those from m on are zero.</summary>
    public Vector256<double>[] V { get; }

    /// <summary><c>V T</c> (or <c>V T^T</c>) applied to four numbers: the row vector <c>v T</c>.</summary>
    public Vector256<double> TimesT(Vector256<double> row)
    {
        Vector256<double> sum = default;
        for (int k = 0; k < Width; k++)
        {
            sum += Vector256.Create(row[k]) * Vector256.Create<double>(_t.AsSpan(k * Width, Width));
        }

        return sum;
    }

    /// <summary>Replaces a vector of N elements by <c>Q^T x</c>.</summary>
    public void ApplyTransposed(Span<double> x) => Reflect(x, transposed: true);

    /// <summary>Replaces a vector of N elements by <c>Q x</c>.</summary>
    public void Apply(Span<double> x) => Reflect(x, transposed: false);

    /// <summary>Solves <c>R a = b</c> and expresses a by the points' own coordinates: constant and gradient.</summary>
    public (double Constant, Vector3d Gradient) SolveAffine(ReadOnlySpan<double> b)
    {
        Span<double> a = stackalloc double[Width];
        a.Clear();
        for (int i = Columns - 1; i >= 0; i--)
        {
            double sum = b[i];
            for (int k = i + 1; k < Columns; k++)
            {
                sum -= _r[(i * Width) + k] * a[k];
            }

            a[i] = sum / _r[(i * Width) + i];
        }

        Vector3d gradient = new Vector3d(a[1], a[2], a[3]) * _scale;
        return (a[0] - Vector3d.Dot(gradient, _centre), gradient);
    }

    private void Factor(Vector256<double>[] block)
    {
        for (int c = 0; c < Columns; c++)
        {
            // Householder vector of column c, over rows c to N - 1.
            double norm2 = 0;
            for (int i = c; i < Count; i++)
            {
                norm2 += block[i][c] * block[i][c];
            }

            double norm = Math.Sqrt(norm2);
            if (norm <= RankTolerance * Math.Sqrt(Count))
            {
                throw new ArgumentException($"The {Count} points lie in one {(Columns == 4 ? "plane" : "line")}.");
            }

            double head = block[c][c];
            double alpha = -Math.CopySign(norm, head);
            double tau = 1 / (norm2 + (norm * Math.Abs(head)));
            var v = new double[Count];
            for (int i = c; i < Count; i++)
            {
                v[i] = block[i][c];
            }

            v[c] -= alpha;
            ReflectColumns(block, v, tau, c);
            for (int k = 0; k < c; k++)
            {
                _r[(k * Width) + c] = block[k][c];
            }

            _r[(c * Width) + c] = alpha;
            ExtendT(block, v, tau, c);
            for (int i = 0; i < Count; i++)
            {
                // R's part of the column has been read: the place holds V from here on.
                block[i] = block[i].WithElement(c, v[i]);
            }
        }

        for (int i = 0; i < Count; i++)
        {
            for (int c = Columns; c < Width; c++)
            {
                block[i] = block[i].WithElement(c, 0);
            }
        }
    }

    private void ReflectColumns(Vector256<double>[] block, double[] v, double tau, int c)
    {
        Vector256<double> products = default;
        for (int i = c; i < Count; i++)
        {
            products += Vector256.Create(v[i]) * block[i];
        }

        products *= tau;
        for (int k = 0; k <= c; k++)
        {
            products = products.WithElement(k, 0);
        }

        for (int i = c; i < Count; i++)
        {
            block[i] -= Vector256.Create(v[i]) * products;
        }
    }

    /// <summary>T's column c: <c>-tau T V^T v</c> above the diagonal, tau on it.</summary>
    private void ExtendT(Vector256<double>[] block, double[] v, double tau, int c)
    {
        Vector256<double> products = default;
        for (int i = 0; i < Count; i++)
        {
            products += block[i] * v[i];
        }

        for (int k = 0; k < c; k++)
        {
            double sum = 0;
            for (int l = k; l < c; l++)
            {
                sum += _t[(k * Width) + l] * products[l];
            }

            _t[(k * Width) + c] = -tau * sum;
        }

        _t[(c * Width) + c] = tau;
    }

    private void Reflect(Span<double> x, bool transposed)
    {
        Vector256<double> products = default;
        for (int i = 0; i < Count; i++)
        {
            products += V[i] * x[i];
        }

        Span<double> turned = stackalloc double[Width];
        turned.Clear();
        for (int k = 0; k < Width; k++)
        {
            for (int l = 0; l < Width; l++)
            {
                turned[k] += (transposed ? _t[(l * Width) + k] : _t[(k * Width) + l]) * products[l];
            }
        }

        Vector256<double> factors = Vector256.Create<double>(turned);
        for (int i = 0; i < Count; i++)
        {
            x[i] -= Vector256.Sum(V[i] * factors);
        }
    }
}
