using AutoPlace.Geometry;
using MathNet.Numerics.LinearAlgebra;
using Xunit;

namespace AutoPlace.Tests.Geometry;

public sealed class BlockedCholeskyTests
{
    public static IEnumerable<TheoryDataRow<int>> Orders =>
        ((int[])[0, 1, 2, 7, 8, 9, 63, 64, 65, 67, 128, 200, 513]).Select(n => new TheoryDataRow<int>(n));

    [Theory]
    [MemberData(nameof(Orders))]
    public void Factor_and_solution_equal_a_general_library(int n)
    {
        Matrix<double> a = RandomPositiveDefinite(n, seed: n);
        BlockedCholesky factor = BlockedCholesky.TryFactor(Copy(a))!;
        if (n == 0)
        {
            factor.Solve([]);
            return;
        }

        Matrix<double> truth = a.Cholesky().Factor;
        for (int i = 0; i < n; i++)
        {
            for (int j = 0; j < n; j++)
            {
                Assert.Equal(truth[i, j], factor.Lower(i, j), 1e-12 * truth[0, 0]);
            }
        }

        var random = new Random(1);
        double[] right = [.. Enumerable.Range(0, 3 * n).Select(_ => Draw.Normal(random))];
        double[] solution = (double[])right.Clone();
        factor.Solve(solution);
        for (int k = 0; k < 3; k++)
        {
            Vector<double> residual = (a * Vector<double>.Build.Dense(solution[(k * n)..((k + 1) * n)]))
                - Vector<double>.Build.Dense(right[(k * n)..((k + 1) * n)]);
            Assert.True(residual.AbsoluteMaximum() < 1e-11, $"residual {residual.AbsoluteMaximum()}");
        }
    }

    [Fact]
    public void Factor_on_several_threads_is_the_same_to_the_last_bit()
    {
        const int n = 500;
        Matrix<double> a = RandomPositiveDefinite(n, seed: 2);
        BlockedCholesky alone = BlockedCholesky.TryFactor(Copy(a), int.MaxValue)!;
        for (int run = 0; run < 3; run++)
        {
            BlockedCholesky shared = BlockedCholesky.TryFactor(Copy(a), 1)!;
            for (int i = 0; i < n; i++)
            {
                for (int j = 0; j <= i; j++)
                {
                    Assert.Equal(alone.Lower(i, j), shared.Lower(i, j));
                }
            }
        }
    }

    [Theory]
    [InlineData(5, 4)]
    [InlineData(100, 80)]
    [InlineData(100, 0)]
    public void Indefinite_matrix_has_no_factor(int n, int badPivot)
    {
        SymmetricMatrix matrix = Copy(RandomPositiveDefinite(n, seed: 3));
        matrix.Row(badPivot)[badPivot] = -1;
        Assert.Null(BlockedCholesky.TryFactor(matrix));
    }

    [Fact]
    public void Singular_or_infinite_matrix_has_no_factor()
    {
        var ones = new SymmetricMatrix(70);
        for (int i = 0; i < 70; i++)
        {
            ones.Row(i).Fill(1);
        }

        Assert.Null(BlockedCholesky.TryFactor(ones));
        SymmetricMatrix infinite = Copy(RandomPositiveDefinite(20, seed: 4));
        infinite.Row(10)[3] = double.PositiveInfinity;
        Assert.Null(BlockedCholesky.TryFactor(infinite));
        SymmetricMatrix notANumber = Copy(RandomPositiveDefinite(20, seed: 4));
        notANumber.Row(10)[3] = double.NaN;
        Assert.Null(BlockedCholesky.TryFactor(notANumber));
    }

    [Fact]
    public void Kernels_equal_their_scalar_twin_to_the_last_bit()
    {
        var random = new Random(5);
        for (int depth = 0; depth <= 67; depth++)
        {
            double[] rows = Numbers(random, 8 * depth), columns = Numbers(random, 8 * depth), tile = Numbers(random, 8 * 11);
            double[] scalar = (double[])tile.Clone(), narrow = (double[])tile.Clone(), wide = (double[])tile.Clone(), chosen = (double[])tile.Clone();
            BlockedCholesky.SubtractProductScalar(rows, columns, depth, scalar, 11);
            BlockedCholesky.SubtractProduct256(rows, columns, depth, narrow, 11);
            BlockedCholesky.SubtractProduct512(rows, columns, depth, wide, 11);
            BlockedCholesky.SubtractProduct(rows, columns, depth, chosen, 11);
            Assert.Equal(scalar, narrow);
            Assert.Equal(scalar, wide);
            Assert.Equal(scalar, chosen);
        }
    }

    [Fact]
    public void Dot_and_scaled_sum_equal_plain_loops_at_all_lengths()
    {
        var random = new Random(6);
        for (int length = 0; length <= 67; length++)
        {
            double[] a = Numbers(random, length), b = Numbers(random, length);
            double dot = 0;
            double[] sum = (double[])b.Clone();
            for (int i = 0; i < length; i++)
            {
                dot += a[i] * b[i];
                sum[i] = Math.FusedMultiplyAdd(a[i], 0.7, sum[i]);
            }

            Assert.Equal(dot, BlockedCholesky.Dot(a, b), 1e-13);
            BlockedCholesky.AddScaled(a, 0.7, b);
            Assert.Equal(sum, b);
        }
    }

    [Fact]
    public void Vector_that_is_not_whole_is_refused()
    {
        BlockedCholesky factor = BlockedCholesky.TryFactor(Copy(RandomPositiveDefinite(5, seed: 7)))!;
        Assert.Throws<ArgumentException>(() => factor.Solve(new double[7]));
        Assert.Throws<ArgumentOutOfRangeException>(() => new SymmetricMatrix(3).Row(3));
    }

    private static double[] Numbers(Random random, int count) => [.. Enumerable.Range(0, count).Select(_ => Draw.Normal(random))];

    private static Matrix<double> RandomPositiveDefinite(int n, int seed)
    {
        if (n == 0)
        {
            return Matrix<double>.Build.Dense(1, 1, 1);
        }

        var random = new Random(seed);
        Matrix<double> m = Matrix<double>.Build.Dense(n, n, (_, _) => Draw.Normal(random) / Math.Sqrt(n));
        return (m * m.Transpose()) + Matrix<double>.Build.DenseIdentity(n);
    }

    private static SymmetricMatrix Copy(Matrix<double> a)
    {
        var copy = new SymmetricMatrix(a.RowCount);
        for (int i = 0; i < a.RowCount; i++)
        {
            for (int j = 0; j <= i; j++)
            {
                copy.Row(i)[j] = a[i, j];
            }
        }

        return copy;
    }
}
