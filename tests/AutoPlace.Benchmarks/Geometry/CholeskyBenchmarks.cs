using AutoPlace.Geometry;
using BenchmarkDotNet.Attributes;
using MathNet.Numerics.LinearAlgebra;

namespace AutoPlace.Benchmarks.Geometry;

/// <summary>
/// Dense: 1,200 rows, beside Math.NET's managed factor. Sparse: the Laplacian of a grid of 68 x 68 vertices, as large as
/// a head of 4,624 vertices.
/// </summary>
[Config(typeof(ShortConfig))]
public class CholeskyBenchmarks
{
    private const int Order = 1200;
    private const int GridSize = 68;

    private readonly Matrix<double> _general = Matrix<double>.Build.Dense(Order, Order, Element);
    private readonly double[] _dense = new double[Order * (Order + 1) / 2];
    private readonly Vector3d[] _right = new Vector3d[GridSize * GridSize];
    private SparseSymmetricMatrix _sparse = null!;
    private SparseCholeskyAnalysis _analysis = null!;
    private SparseCholesky _factor = null!;

    [GlobalSetup]
    public void Setup()
    {
        for (int i = 0, next = 0; i < Order; i++)
        {
            for (int j = 0; j <= i; j++)
            {
                _dense[next++] = Element(i, j);
            }
        }

        var elements = new List<(int, int, double)>();
        for (int i = 0; i < _right.Length; i++)
        {
            elements.Add((i, i, 4.01));
            if (i % GridSize > 0)
            {
                elements.Add((i - 1, i, -1));
            }

            if (i >= GridSize)
            {
                elements.Add((i - GridSize, i, -1));
            }

            _right[i] = new Vector3d(i, 1, -i);
        }

        _sparse = SparseSymmetricMatrix.FromElements(_right.Length, [.. elements]);
        _analysis = new SparseCholeskyAnalysis(_sparse);
        _factor = _analysis.TryFactor(_sparse)!;
    }

    [Benchmark]
    public BlockedCholesky? Dense1200()
    {
        var matrix = new SymmetricMatrix(Order);
        for (int i = 0; i < Order; i++)
        {
            _dense.AsSpan(i * (i + 1) / 2, i + 1).CopyTo(matrix.Row(i));
        }

        return BlockedCholesky.TryFactor(matrix);
    }

    [Benchmark(Baseline = true)]
    public object Dense1200ByMathNet() => _general.Cholesky();

    [Benchmark]
    public SparseCholeskyAnalysis SparseAnalysis() => new(_sparse);

    [Benchmark]
    public SparseCholesky? SparseFactor() => _analysis.TryFactor(_sparse);

    [Benchmark]
    public void SparseSolveThreeRightSides() => _factor.Solve(_right);

    private static double Element(int i, int j) => i == j ? 50 : 1.0 / (1 + Math.Abs(i - j));
}
