using System.Runtime.Intrinsics;

namespace AutoPlace.Geometry;

/// <summary>
/// Cholesky factor <c>A = L L^T</c> of a dense symmetric positive definite matrix. Every element is accumulated in the
/// same order whatever the vector width or the number of threads, so the factor is the same to the last bit.
/// </summary>
public sealed partial class BlockedCholesky
{
    /// <summary>
    /// From this many remaining rows on, the work is shared between threads. Below it, waiting for each other twice a
    /// panel costs more than it gains as soon as the machine has anything else to do.
    /// </summary>
    private const int ParallelRows = 1536;

    private readonly SymmetricMatrix _lower;

    private BlockedCholesky(SymmetricMatrix lower) => _lower = lower;

    /// <summary>Number of rows and columns.</summary>
    public int Order => _lower.Order;

    /// <summary>Factors in place, O(n^3 / 3); large matrices on several threads.</summary>
    /// <param name="matrix">Positive definite; its memory becomes the factor's and is overwritten.</param>
    /// <returns>The factor, or null when the matrix isn't positive definite to working precision (or not finite).</returns>
    public static BlockedCholesky? TryFactor(SymmetricMatrix matrix) => TryFactor(matrix, ParallelRows);

    /// <summary>Factors in place, on several threads while at least so many rows remain.</summary>
    internal static BlockedCholesky? TryFactor(SymmetricMatrix matrix, int parallelRows)
    {
        ArgumentNullException.ThrowIfNull(matrix);
        return new Factorization(matrix, parallelRows).Run() ? new BlockedCholesky(matrix) : null;
    }

    /// <summary>Element (row, column) of the lower factor; 0 above the diagonal.</summary>
    internal double Lower(int row, int column) => column > row ? 0 : _lower.Row(row)[column];

    /// <summary>Solves <c>A x = b</c> for one or several right-hand sides, in place, O(n^2) each.</summary>
    /// <param name="vectors">One or more vectors of n elements, one after the other; b before, x after.</param>
    /// <exception cref="ArgumentException">The length isn't a multiple of n.</exception>
    public void Solve(Span<double> vectors)
    {
        SolveLower(vectors);
        SolveLowerTransposed(vectors);
    }

    /// <summary>Solves <c>L y = b</c>, in place.</summary>
    /// <param name="vectors">One or more vectors of n elements, one after the other.</param>
    /// <exception cref="ArgumentException">The length isn't a multiple of n.</exception>
    public void SolveLower(Span<double> vectors)
    {
        int n = Order;
        ThrowUnlessWhole(vectors.Length);
        for (int i = 0; i < n; i++)
        {
            ReadOnlySpan<double> row = _lower.Row(i);
            double pivot = row[i];
            for (int start = 0; start < vectors.Length; start += n)
            {
                Span<double> x = vectors.Slice(start, n);
                x[i] = (x[i] - Dot(row[..i], x)) / pivot;
            }
        }
    }

    /// <summary>Solves <c>L^T x = y</c>, in place.</summary>
    /// <param name="vectors">One or more vectors of n elements, one after the other.</param>
    /// <exception cref="ArgumentException">The length isn't a multiple of n.</exception>
    public void SolveLowerTransposed(Span<double> vectors)
    {
        int n = Order;
        ThrowUnlessWhole(vectors.Length);
        for (int i = n - 1; i >= 0; i--)
        {
            ReadOnlySpan<double> row = _lower.Row(i);
            double pivot = row[i];
            for (int start = 0; start < vectors.Length; start += n)
            {
                Span<double> x = vectors.Slice(start, n);
                x[i] /= pivot;
                AddScaled(row[..i], -x[i], x);
            }
        }
    }

    /// <summary>Sum of products, in four interleaved partial sums.</summary>
    internal static double Dot(ReadOnlySpan<double> a, ReadOnlySpan<double> b)
    {
        Vector256<double> sum0 = default, sum1 = default, sum2 = default, sum3 = default;
        int i = 0;
        for (; i + 16 <= a.Length; i += 16)
        {
            sum0 = Vector256.FusedMultiplyAdd(Vector256.Create(a.Slice(i, 4)), Vector256.Create(b.Slice(i, 4)), sum0);
            sum1 = Vector256.FusedMultiplyAdd(Vector256.Create(a.Slice(i + 4, 4)), Vector256.Create(b.Slice(i + 4, 4)), sum1);
            sum2 = Vector256.FusedMultiplyAdd(Vector256.Create(a.Slice(i + 8, 4)), Vector256.Create(b.Slice(i + 8, 4)), sum2);
            sum3 = Vector256.FusedMultiplyAdd(Vector256.Create(a.Slice(i + 12, 4)), Vector256.Create(b.Slice(i + 12, 4)), sum3);
        }

        double total = Vector256.Sum(sum0 + sum1 + (sum2 + sum3));
        for (; i < a.Length; i++)
        {
            total = Math.FusedMultiplyAdd(a[i], b[i], total);
        }

        return total;
    }

    /// <summary><c>y += scale x</c> over the length of x.</summary>
    internal static void AddScaled(ReadOnlySpan<double> x, double scale, Span<double> y)
    {
        Vector256<double> factor = Vector256.Create(scale);
        int i = 0;
        for (; i + 4 <= x.Length; i += 4)
        {
            Vector256.FusedMultiplyAdd(Vector256.Create(x.Slice(i, 4)), factor, Vector256.Create<double>(y.Slice(i, 4)))
                .CopyTo(y.Slice(i, 4));
        }

        for (; i < x.Length; i++)
        {
            y[i] = Math.FusedMultiplyAdd(x[i], scale, y[i]);
        }
    }

    private void ThrowUnlessWhole(int length)
    {
        if (Order == 0 ? length != 0 : length % Order != 0)
        {
            throw new ArgumentException($"{length} elements aren't whole vectors of {Order}.");
        }
    }
}
