using System.Runtime.Intrinsics;

namespace AutoPlace.Geometry;

/// <summary>
/// The factor <c>P A P^T = L D L^T</c> of a sparse symmetric positive definite matrix: factored once, solved for many
/// right-hand sides. Made by <see cref="SparseCholeskyAnalysis.TryFactor"/>.
/// </summary>
public sealed class SparseCholesky
{
    /// <summary>Right-hand sides that are solved together, one in each lane.</summary>
    private const int Lanes = 4;

    /// <summary>A pivot under this share of its diagonal element is rounding error and carries no digits.</summary>
    private const double PivotTolerance = 1e-14;

    private readonly SparseCholeskyAnalysis _analysis;
    private readonly int[] _rows;
    private readonly double[] _values;
    private readonly double[] _inversePivots;

    private SparseCholesky(SparseCholeskyAnalysis analysis)
    {
        _analysis = analysis;
        _rows = new int[analysis.FactorElements];
        _values = new double[analysis.FactorElements];
        _inversePivots = new double[analysis.Order];
    }

    /// <summary>Number of rows and columns.</summary>
    public int Order => _analysis.Order;

    /// <summary>Solves <c>A x = b</c> in place for one or several right-hand sides.</summary>
    /// <param name="vectors">One or more vectors of n elements, one after the other; b before, x after.</param>
    /// <exception cref="ArgumentException">The length isn't a multiple of n.</exception>
    public void Solve(Span<double> vectors)
    {
        int n = Order;
        if (n == 0 ? vectors.Length != 0 : vectors.Length % n != 0)
        {
            throw new ArgumentException($"{vectors.Length} elements aren't whole vectors of {n}.", nameof(vectors));
        }

        var work = new Vector256<double>[n];
        for (int start = 0; start < vectors.Length; start += Lanes * n)
        {
            Span<double> group = vectors[start..Math.Min(vectors.Length, start + (Lanes * n))];
            for (int k = 0; k < n; k++)
            {
                int i = _analysis.Sequence[k];
                double Lane(Span<double> g, int lane) => (lane * n) + i < g.Length ? g[(lane * n) + i] : 0;
                work[k] = Vector256.Create(Lane(group, 0), Lane(group, 1), Lane(group, 2), Lane(group, 3));
            }

            Substitute(work);
            for (int k = 0; k < n; k++)
            {
                for (int at = _analysis.Sequence[k], lane = 0; at < group.Length; at += n, lane++)
                {
                    group[at] = work[k][lane];
                }
            }
        }
    }

    /// <summary>Solves for the three coordinates of points at once, in place.</summary>
    /// <param name="points">n points; right-hand sides before, solutions after.</param>
    /// <exception cref="ArgumentException">Another number than n.</exception>
    public void Solve(Span<Vector3d> points)
    {
        if (points.Length != Order)
        {
            throw new ArgumentException($"{points.Length} points for order {Order}.", nameof(points));
        }

        var work = new Vector256<double>[points.Length];
        for (int k = 0; k < work.Length; k++)
        {
            Vector3d p = points[_analysis.Sequence[k]];
            work[k] = Vector256.Create(p.X, p.Y, p.Z, 0);
        }

        Substitute(work);
        for (int k = 0; k < work.Length; k++)
        {
            points[_analysis.Sequence[k]] = new Vector3d(work[k][0], work[k][1], work[k][2]);
        }
    }

    /// <summary>
    /// Row by row: a row of L is the solution of a sparse triangular system with the rows above (up-looking, Davis 2006,
    /// Direct Methods for Sparse Linear Systems, section 4.8; from memory).
    /// </summary>
    internal static SparseCholesky? Factor(SparseCholeskyAnalysis analysis, SparseSymmetricMatrix matrix)
    {
        var factor = new SparseCholesky(analysis);
        int n = analysis.Order;
        int[] mark = new int[n], stack = new int[n], filled = new int[n];
        var y = new double[n];
        Array.Fill(mark, -1);
        for (int row = 0; row < n; row++)
        {
            int top = analysis.RowPattern(row, mark, stack);
            for (int k = analysis.RowStarts[row]; k < analysis.RowStarts[row + 1]; k++)
            {
                y[analysis.RowColumns[k]] = matrix.Values[analysis.RowElements[k]];
            }

            double diagonal = Diagonal(matrix, analysis.Sequence[row]);
            double pivot = factor.EliminateRow(row, stack.AsSpan(top), y, filled, diagonal);
            if (!(pivot > PivotTolerance * diagonal) || !double.IsFinite(pivot))
            {
                return null;
            }

            factor._inversePivots[row] = 1 / pivot;
        }

        return factor;
    }

    private static double Diagonal(SparseSymmetricMatrix matrix, int i)
    {
        int first = matrix.ColumnStarts[i];
        return first < matrix.ColumnStarts[i + 1] && matrix.Rows[first] == i ? matrix.Values[first] : 0;
    }

    private double EliminateRow(int row, ReadOnlySpan<int> pattern, double[] y, int[] filled, double pivot)
    {
        foreach (int column in pattern)
        {
            double numerator = y[column];
            y[column] = 0;
            int start = _analysis.ColumnStarts[column], end = start + filled[column];
            for (int k = start; k < end; k++)
            {
                y[_rows[k]] -= _values[k] * numerator;
            }

            double value = numerator * _inversePivots[column];
            pivot -= value * numerator;
            (_rows[end], _values[end]) = (row, value);
            filled[column]++;
        }

        return pivot;
    }

    private void Substitute(Vector256<double>[] x)
    {
        int[] starts = _analysis.ColumnStarts;
        for (int c = 0; c < x.Length; c++)
        {
            Vector256<double> value = x[c];
            for (int k = starts[c]; k < starts[c + 1]; k++)
            {
                x[_rows[k]] -= value * _values[k];
            }
        }

        for (int c = x.Length - 1; c >= 0; c--)
        {
            Vector256<double> value = x[c] * _inversePivots[c];
            for (int k = starts[c]; k < starts[c + 1]; k++)
            {
                value -= x[_rows[k]] * _values[k];
            }

            x[c] = value;
        }
    }
}
