using AutoPlace.Geometry;
using AutoPlace.Tests.Heads;
using CsCheck;
using MathNet.Numerics.LinearAlgebra;
using Xunit;

namespace AutoPlace.Tests.Geometry;

public sealed class SparseCholeskyTests
{
    [Fact]
    public void Solution_equals_a_general_library_on_random_patterns() =>
        Gen.Int[0, int.MaxValue].Select(Gen.Int[1, 60], Gen.Double[0, 0.6]).Sample(
            (seed, n, density) =>
            {
                var random = new Random(seed);
                SparseSymmetricMatrix a = RandomMatrix(random, n, density);
                SparseCholesky factor = new SparseCholeskyAnalysis(a).TryFactor(a)!;
                double[] b = [.. Enumerable.Range(0, n).Select(_ => Draw.Normal(random))];
                Vector<double> truth = Dense(a).Solve(Vector<double>.Build.Dense([.. b]));
                factor.Solve(b);
                return (Vector<double>.Build.Dense(b) - truth).AbsoluteMaximum() < 1e-10;
            },
            seed: "0N0XIzNsQ0O2",
            iter: 300);

    [Fact]
    public void Several_right_hand_sides_equal_single_ones_to_the_last_bit()
    {
        var random = new Random(1);
        SparseSymmetricMatrix a = RandomMatrix(random, 50, 0.1);
        SparseCholesky factor = new SparseCholeskyAnalysis(a).TryFactor(a)!;
        double[] many = [.. Enumerable.Range(0, 7 * 50).Select(_ => Draw.Normal(random))];
        var points = new Vector3d[50];
        double[] single = (double[])many.Clone();
        for (int i = 0; i < 50; i++)
        {
            points[i] = new Vector3d(many[i], many[50 + i], many[100 + i]);
        }

        factor.Solve(many);
        factor.Solve(points);
        for (int k = 0; k < 7; k++)
        {
            factor.Solve(single.AsSpan(50 * k, 50));
        }

        Assert.Equal(single, many);
        for (int i = 0; i < 50; i++)
        {
            Assert.Equal(new Vector3d(single[i], single[50 + i], single[100 + i]), points[i]);
        }
    }

    [Fact]
    public void Laplacian_of_a_mesh_is_solved_and_its_factor_stays_sparse()
    {
        SparseSymmetricMatrix a = Laplacian(new MeshAdjacency(Shapes.CubeSphere(20)), 0.01);
        var analysis = new SparseCholeskyAnalysis(a);
        SparseCholesky factor = analysis.TryFactor(a)!;
        var random = new Random(2);
        double[] x = [.. Enumerable.Range(0, a.Order).Select(_ => Draw.Normal(random))], b = new double[a.Order];
        a.Multiply(x, b);
        factor.Solve(b);
        Assert.True(x.Zip(b, (p, q) => Math.Abs(p - q)).Max() < 1e-10);

        // Nested dissection of a k x k grid needs 31/4 k^2 log2 k elements (George 1973; from memory); an order of
        // that kind must be near it, the natural one has about k^3.
        double k = Math.Sqrt(a.Order);
        Assert.InRange(analysis.FactorElements, 1, 31.0 / 4 * k * k * Math.Log2(k));
    }

    [Fact]
    public void Arrow_fills_nothing()
    {
        // Dense first row: eliminated last, no fill; eliminated first, all.
        const int n = 100;
        var elements = new List<(int, int, double)>();
        for (int i = 0; i < n; i++)
        {
            elements.Add((i, i, n));
            if (i > 0)
            {
                elements.Add((0, i, 1));
            }
        }

        var a = SparseSymmetricMatrix.FromElements(n, [.. elements]);
        Assert.Equal(n - 1, new SparseCholeskyAnalysis(a).FactorElements);
    }

    [Fact]
    public void Analysis_serves_other_values()
    {
        var random = new Random(3);
        SparseSymmetricMatrix a = RandomMatrix(random, 40, 0.1);
        var analysis = new SparseCholeskyAnalysis(a);
        var doubled = SparseSymmetricMatrix.FromElements(40, [.. Elements(a).Select(e => (e.Row, e.Column, 2 * e.Value))]);
        double[] b = [.. Enumerable.Range(0, 40).Select(_ => Draw.Normal(random))], half = (double[])b.Clone();
        analysis.TryFactor(a)!.Solve(b);
        analysis.TryFactor(doubled)!.Solve(half);
        Assert.True(b.Zip(half, (p, q) => Math.Abs(p - (2 * q))).Max() < 1e-12);
        Assert.Throws<ArgumentException>(() => analysis.TryFactor(RandomMatrix(random, 40, 0.3)));
    }

    [Fact]
    public void Elements_on_either_side_add_up()
    {
        var a = SparseSymmetricMatrix.FromElements(2, [(0, 1, 1), (1, 0, 2), (0, 0, 4), (1, 1, 5)]);
        Assert.Equal([0, 1, 1], a.Rows);
        Assert.Equal([4, 3, 5], a.Values);
    }

    [Fact]
    public void Indefinite_singular_or_unusable_matrix_is_refused()
    {
        SparseSymmetricMatrix Build(params (int, int, double)[] elements) => SparseSymmetricMatrix.FromElements(3, elements);
        foreach (SparseSymmetricMatrix bad in (SparseSymmetricMatrix[])[
            Build((0, 0, 1), (1, 1, 1), (2, 2, 1), (0, 1, 2)),
            Build((0, 0, 1), (1, 1, 1), (2, 2, 1), (0, 1, 1)),
            Build((0, 0, 1), (1, 1, 1))])
        {
            Assert.Null(new SparseCholeskyAnalysis(bad).TryFactor(bad));
        }

        // A Laplacian without anchor is singular: constants cost nothing.
        SparseSymmetricMatrix laplacian = Laplacian(new MeshAdjacency(Shapes.CubeSphere(4)), 0);
        Assert.Null(new SparseCholeskyAnalysis(laplacian).TryFactor(laplacian));
        Assert.Contains("(0, 3)", Assert.Throws<ArgumentException>(() => Build((0, 3, 1))).Message, StringComparison.Ordinal);
        Assert.Throws<ArgumentException>(() => Build((0, 0, double.NaN)));
    }

    internal static SparseSymmetricMatrix Laplacian(MeshAdjacency mesh, double anchor)
    {
        var elements = new List<(int, int, double)>();
        foreach (MeshEdge edge in mesh.Edges)
        {
            elements.Add((edge.Low, edge.High, -1));
            elements.Add((edge.Low, edge.Low, 1));
            elements.Add((edge.High, edge.High, 1));
        }

        for (int v = 0; v < mesh.VertexCount; v++)
        {
            elements.Add((v, v, anchor));
        }

        return SparseSymmetricMatrix.FromElements(mesh.VertexCount, [.. elements]);
    }

    private static SparseSymmetricMatrix RandomMatrix(Random random, int n, double density)
    {
        var elements = new List<(int, int, double)>();
        for (int i = 0; i < n; i++)
        {
            elements.Add((i, i, 1));
            for (int j = 0; j < i; j++)
            {
                if (random.NextDouble() < density)
                {
                    double value = Draw.Normal(random);
                    elements.Add((i, j, value));
                    elements.Add((i, i, Math.Abs(value)));
                    elements.Add((j, j, Math.Abs(value)));
                }
            }
        }

        return SparseSymmetricMatrix.FromElements(n, [.. elements]);
    }

    private static IEnumerable<(int Row, int Column, double Value)> Elements(SparseSymmetricMatrix a)
    {
        for (int c = 0; c < a.Order; c++)
        {
            for (int k = a.ColumnStarts[c]; k < a.ColumnStarts[c + 1]; k++)
            {
                yield return (a.Rows[k], c, a.Values[k]);
            }
        }
    }

    private static Matrix<double> Dense(SparseSymmetricMatrix a)
    {
        Matrix<double> dense = Matrix<double>.Build.Dense(a.Order, a.Order);
        foreach ((int row, int column, double value) in Elements(a))
        {
            dense[row, column] = dense[column, row] = value;
        }

        return dense;
    }
}
