using AutoPlace.Geometry;
using CsCheck;
using MathNet.Numerics.LinearAlgebra;
using Xunit;
using Vector3 = System.Numerics.Vector3;

namespace AutoPlace.Tests.Geometry;

public sealed class PolyharmonicSplineTests
{
    [Fact]
    public void Targets_without_variance_are_met() =>
        Gen.Int[0, int.MaxValue].Select(Gen.Int[4, 150]).Sample(
            (seed, count) =>
            {
                var random = new Random(seed);
                Vector3d[] sources = Draw.Points(random, count), targets = Draw.Points(random, count);
                var spline = PolyharmonicSpline.Fit(sources, targets);
                return Enumerable.Range(0, count).All(i => Vector3d.Distance(spline.Apply(sources[i]), targets[i]) < 1e-9);
            },
            seed: "0N0XIzNsQ0O2",
            iter: 100);

    [Fact]
    public void Affine_map_is_reproduced_with_any_smoothing() =>
        Gen.Int[0, int.MaxValue].Select(Gen.Int[4, 150], Gen.Double[0, 10]).Sample(
            (seed, count, smoothing) =>
            {
                var random = new Random(seed);
                Matrix3d linear = Draw.Matrix(random);
                Vector3d constant = Draw.Point(random) * 5;
                Vector3d[] sources = Draw.Points(random, count);
                Vector3d[] targets = [.. sources.Select(s => (linear * s) + constant)];
                double[] variances = [.. sources.Select(_ => random.NextDouble())];
                var spline = PolyharmonicSpline.Fit(sources, targets, variances, smoothing);
                Vector3d probe = Draw.Point(random) * 2;
                return Draw.Difference(spline.Linear, linear) < 1e-9
                    && Vector3d.Distance(spline.Constant, constant) < 1e-9
                    && Vector3d.Distance(spline.Apply(probe), (linear * probe) + constant) < 1e-9
                    && Math.Abs(spline.BendingEnergy) < 1e-9;
            },
            seed: "0N0XIzNsQ0O2",
            iter: 100);

    /// <summary>
    /// The corners of the unit cube fixed at 0, its centre at 1; solved from the definition, outside this program, to six
    /// digits.
    /// </summary>
    [Fact]
    public void Cube_with_raised_centre()
    {
        Vector3d[] sources = [.. Enumerable.Range(0, 8).Select(v => new Vector3d(v & 1, (v >> 1) & 1, v >> 2)), new(0.5, 0.5, 0.5)];
        Vector3d[] targets = [.. sources.Select((_, i) => new Vector3d(i == 8 ? 1 : 0, 0, 0))];
        var spline = PolyharmonicSpline.Fit(sources, targets);
        Assert.Equal(0.204846, spline.Weight(0).X, 5e-7);
        Assert.Equal(-1.638768, spline.Weight(8).X, 5e-7);
        Assert.Equal(-0.419215, spline.Constant.X, 5e-7);
        Assert.True(Draw.Difference(spline.Linear, default) < 1e-14);
        Assert.Equal(0.630233, spline.Apply(new Vector3d(0.25, 0.5, 0.5)).X, 5e-7);
        Assert.Equal(0.344329, spline.Apply(new Vector3d(0, 0.5, 0.5)).X, 5e-7);
        Assert.Equal(0.405207, spline.Apply(new Vector3d(0.75, 0.75, 0.75)).X, 5e-7);
        Assert.Equal(-0.135655, spline.Apply(new Vector3d(2, 0.5, 0.5)).X, 5e-7);
    }

    /// <summary>
    /// Bookstein 1989, "Principal warps", PAMI 11(6), the example of five landmarks: weights, affine part and bending as
    /// recomputed from the coordinates with U = r^2 ln r^2.
    /// </summary>
    [Fact]
    public void Booksteins_five_landmarks_in_the_plane()
    {
        Vector3d[] points = [new(3.6929, 10.3819, 0), new(6.5827, 8.8386, 0), new(6.7756, 12.0866, 0), new(4.8189, 11.2047, 0), new(5.6969, 10.0748, 0)];
        double[] x = [3.9724, 6.6969, 6.5394, 5.4016, 5.7756], y = [6.5354, 4.1181, 7.2362, 6.4528, 5.1142];
        PlaneSolution forX = SolvePlane(points, x), forY = SolvePlane(points, y);
        AssertAll([-0.0380, 0.0232, -0.0248, 0.0798, -0.0402], forX.Weights, 5.1e-5);
        AssertAll([0.0424, 0.0159, 0.0288, -0.0454, -0.0418], forY.Weights, 5.1e-5);
        Assert.Equal(1.3550, forX.Constant, 5.1e-5);
        Assert.Equal(0.8747, forX.Gradient.X, 5.1e-5);
        Assert.Equal(-0.0289, forX.Gradient.Y, 5.1e-5);
        Assert.Equal(-2.9460, forY.Constant, 5.1e-5);
        Assert.Equal(-0.2956, forY.Gradient.X, 5.1e-5);
        Assert.Equal(0.9216, forY.Gradient.Y, 5.1e-5);
        Assert.Equal(0.0860, forX.Energy + forY.Energy, 5.1e-5);
    }

    /// <summary>Bookstein 1989: a square becomes a kite by a pure bending.</summary>
    [Fact]
    public void Booksteins_square_and_kite()
    {
        Vector3d[] points = [new(0, 1, 0), new(-1, 0, 0), new(0, -1, 0), new(1, 0, 0)];
        PlaneSolution forX = SolvePlane(points, [0, -1, 0, 1]), forY = SolvePlane(points, [0.75, 0.25, -1.25, 0.25]);
        AssertAll([0, 0, 0, 0], forX.Weights, 1e-14);
        AssertAll([-0.0902, 0.0902, -0.0902, 0.0902], forY.Weights, 5.1e-5);
        Assert.Equal(0, forY.Constant, 1e-14);
        Assert.True(Vector3d.Distance(forX.Gradient, Vector3d.UnitX) < 1e-14);
        Assert.True(Vector3d.Distance(forY.Gradient, Vector3d.UnitY) < 1e-14);
        Assert.Equal(0.0902, forX.Energy + forY.Energy, 5.1e-5);
        Assert.Equal(1.3863, ThinPlateKernel.At(2), 5e-5);
        Assert.Equal(5.5452, ThinPlateKernel.At(4), 5e-5);
    }

    [Fact]
    public void More_smoothing_bends_less_and_misses_more()
    {
        var random = new Random(8);
        Vector3d[] sources = Draw.Points(random, 100), targets = [.. sources.Select(s => s + (Draw.Point(random) * 0.2))];
        (double energy, double miss) = (double.PositiveInfinity, -1);
        foreach (double smoothing in (double[])[0, 0.01, 0.1, 1, 10, 100])
        {
            var spline = PolyharmonicSpline.Fit(sources, targets, smoothing: smoothing);
            double sum = Enumerable.Range(0, 100).Sum(i => (spline.Apply(sources[i]) - targets[i]).LengthSquared);
            Assert.True(spline.BendingEnergy < energy && sum > miss);
            (energy, miss) = (spline.BendingEnergy, sum);
        }

        // Towards infinity it is the affine map by least squares.
        var stiff = PolyharmonicSpline.Fit(sources, targets, smoothing: 1e9);
        Matrix<double> design = Matrix<double>.Build.Dense(100, 4, (i, c) => c == 0 ? 1 : sources[i][c - 1]);
        Vector<double> leastSquares = design.QR().Solve(Vector<double>.Build.Dense(100, i => targets[i].Y));
        Assert.Equal(leastSquares[0], stiff.Constant.Y, 1e-7);
        Assert.Equal(leastSquares[3], stiff.Linear.Row1.Z, 1e-7);
    }

    [Fact]
    public void Bending_energy_is_the_quadratic_form_of_the_weights()
    {
        var random = new Random(9);
        Vector3d[] sources = Draw.Points(random, 40), targets = Draw.Points(random, 40);
        double[] variances = [.. sources.Select(_ => random.NextDouble())];
        Matrix3d[] covariances = [.. sources.Select(_ => RandomCovariance(random, 3))];
        foreach (PolyharmonicSpline spline in (PolyharmonicSpline[])[
            PolyharmonicSpline.Fit(sources, targets, variances, 0.3), PolyharmonicSpline.Fit(sources, targets, covariances, 0.3)])
        {
            double energy = 0;
            for (int i = 0; i < 40; i++)
            {
                for (int j = 0; j < 40; j++)
                {
                    energy -= Vector3d.Dot(spline.Weight(i), spline.Weight(j)) * Vector3d.Distance(sources[i], sources[j]);
                }
            }

            Assert.Equal(energy, spline.BendingEnergy, 1e-9 * energy);
        }
    }

    [Fact]
    public void Similarity_of_both_sides_commutes_with_the_fit() =>
        Gen.Int[0, int.MaxValue].Sample(
            seed =>
            {
                var random = new Random(seed);
                Vector3d[] sources = Draw.Points(random, 30), targets = Draw.Points(random, 30);
                var map = new SimilarityTransform(Math.Exp(Draw.Normal(random)), Draw.Rotation(random), Draw.Point(random) * 10);
                var spline = PolyharmonicSpline.Fit(sources, targets);
                var moved = PolyharmonicSpline.Fit([.. sources.Select(map.Apply)], targets);
                Vector3d probe = Draw.Point(random);
                return Vector3d.Distance(spline.Apply(probe), moved.Apply(map.Apply(probe))) < 1e-9;
            },
            seed: "0N0XIzNsQ0O2",
            iter: 100);

    [Theory]
    [InlineData(1)]
    [InlineData(10)]
    [InlineData(100)]
    public void Covariances_give_the_solution_of_the_full_coupled_system(double anisotropy)
    {
        const int n = 60;
        var random = new Random(10);
        Vector3d[] sources = Draw.Points(random, n), targets = Draw.Points(random, n);
        Matrix3d[] covariances = [.. sources.Select(_ => RandomCovariance(random, anisotropy))];
        var spline = PolyharmonicSpline.Fit(sources, targets, covariances, 0.2, out int iterations);
        Vector<double> truth = SolveCoupledDirectly(sources, targets, covariances, 0.2);
        for (int i = 0; i < n; i++)
        {
            for (int axis = 0; axis < 3; axis++)
            {
                Assert.Equal(truth[(axis * n) + i], spline.Weight(i)[axis], 1e-8);
            }
        }

        for (int axis = 0; axis < 3; axis++)
        {
            Assert.Equal(truth[(3 * n) + (4 * axis)], spline.Constant[axis], 1e-8);
        }

        TestContext.Current.TestOutputHelper?.WriteLine($"{iterations} iterations");
        Assert.InRange(iterations, 0, 40 * (int)Math.Ceiling(Math.Sqrt(anisotropy)));
    }

    [Fact]
    public void Equal_isotropic_covariances_give_the_isotropic_fit()
    {
        var random = new Random(11);
        Vector3d[] sources = Draw.Points(random, 50), targets = Draw.Points(random, 50);
        var isotropic = PolyharmonicSpline.Fit(sources, targets, [.. Enumerable.Repeat(0.5, 50)], 0.1);
        var coupled = PolyharmonicSpline.Fit(sources, targets, [.. Enumerable.Repeat(Matrix3d.Diagonal(0.5, 0.5, 0.5), 50)], 0.1);
        Vector3d probe = new(0.3, -0.2, 0.9);
        Assert.True(Vector3d.Distance(isotropic.Apply(probe), coupled.Apply(probe)) < 1e-12);
    }

    [Fact]
    public void Direction_without_variance_is_met_exactly()
    {
        var random = new Random(12);
        Vector3d[] sources = Draw.Points(random, 50), targets = Draw.Points(random, 50);
        Vector3d[] normals = [.. sources.Select(_ => Draw.Point(random).Normalized())];
        Matrix3d[] covariances = [.. normals.Select(v => Matrix3d.Identity - Matrix3d.Outer(v, v))];
        covariances = [.. covariances.Select(c => (c + c.Transposed()) * 0.5)];
        var spline = PolyharmonicSpline.Fit(sources, targets, covariances, 0.5);
        for (int i = 0; i < 50; i++)
        {
            Assert.Equal(0, Vector3d.Dot(spline.Apply(sources[i]) - targets[i], normals[i]), 1e-8);
        }
    }

    [Fact]
    public void Jacobian_equals_differences()
    {
        var random = new Random(13);
        Vector3d[] sources = Draw.Points(random, 50), targets = Draw.Points(random, 50);
        var spline = PolyharmonicSpline.Fit(sources, targets);
        const double h = 1e-6;
        for (int i = 0; i < 20; i++)
        {
            Vector3d p = Draw.Point(random);
            Vector3d Slope(Vector3d axis) => (spline.Apply(p + (axis * h)) - spline.Apply(p - (axis * h))) / (2 * h);
            var differences = Matrix3d.FromColumns(Slope(Vector3d.UnitX), Slope(Vector3d.UnitY), Slope(Vector3d.UnitZ));
            Assert.True(Draw.Difference(differences, spline.Jacobian(p)) < 1e-6);
        }

        Assert.True(spline.Jacobian(sources[0]).Row0.IsFinite);
    }

    [Fact]
    public void Wide_sum_equals_its_scalar_twin()
    {
        var random = new Random(14);
        for (int count = 4; count <= 67; count++)
        {
            var spline = PolyharmonicSpline.Fit(Draw.Points(random, count), Draw.Points(random, count));
            Vector3d p = Draw.Point(random);
            Assert.True(Vector3d.Distance(spline.Apply(p), spline.ApplyScalar(p)) < 1e-10);
        }
    }

    [Fact]
    public void Batch_equals_single_points_to_the_last_bit()
    {
        var random = new Random(15);
        var spline = PolyharmonicSpline.Fit(Draw.Points(random, 30), Draw.Points(random, 30));
        Vector3d[] points = Draw.Points(random, 1000), mapped = new Vector3d[1000];
        spline.Apply(points, mapped);
        Vector3[] narrow = [.. points.Select(p => (Vector3)p)], narrowMapped = new Vector3[1000];
        spline.Apply(narrow, narrowMapped);
        for (int i = 0; i < points.Length; i++)
        {
            Assert.Equal(spline.Apply(points[i]), mapped[i]);
            Assert.Equal((Vector3)spline.Apply(narrow[i]), narrowMapped[i]);
        }

        Vector3d[] expected = (Vector3d[])mapped.Clone();
        spline.Apply(points, points);
        Assert.Equal(expected, points);
    }

    [Fact]
    public void Unusable_points_are_refused_by_name()
    {
        Vector3d[] corners = [new(0, 0, 0), new(1, 0, 0), new(0, 1, 0), new(0, 0, 1), new(1, 1, 1)];
        Assert.Throws<ArgumentException>(() => PolyharmonicSpline.Fit(corners.AsSpan(0, 3), corners.AsSpan(0, 3)));
        Assert.Throws<ArgumentException>(() => PolyharmonicSpline.Fit(corners, corners.AsSpan(0, 4)));
        Vector3d[] flat = [.. corners.Select(p => p with { Z = 2 })];
        Assert.Contains("plane", Assert.Throws<ArgumentException>(() => PolyharmonicSpline.Fit(flat, corners)).Message, StringComparison.Ordinal);
        Vector3d[] twice = [.. corners, corners[1]];
        string message = Assert.Throws<ArgumentException>(() => PolyharmonicSpline.Fit(twice, twice)).Message;
        Assert.Contains("points 1 and 5", message, StringComparison.Ordinal);
        Assert.True(PolyharmonicSpline.Fit(twice, twice, smoothing: 1).Count == 6);
        Assert.Throws<ArgumentException>(() => PolyharmonicSpline.Fit(corners, corners, [1, 1, -1, 1, 1], 1));
        Assert.Throws<ArgumentOutOfRangeException>(() => PolyharmonicSpline.Fit(corners, corners, smoothing: -1));
        Assert.Throws<ArgumentException>(() => PolyharmonicSpline.Fit(corners, [.. corners[..4], new(double.NaN, 0, 0)]));
        var skew = new Matrix3d(new(1, 2, 0), new(0, 1, 0), new(0, 0, 1));
        Assert.Throws<ArgumentException>(() => PolyharmonicSpline.Fit(corners, corners, [.. Enumerable.Repeat(skew, 5)], 1));
    }

    private static Matrix3d RandomCovariance(Random random, double anisotropy)
    {
        Matrix3d r = Draw.Rotation(random);
        Matrix3d c = r * Matrix3d.Diagonal(1, 1, 1 / (anisotropy * anisotropy)) * r.Transposed();
        return (c + c.Transposed()) * 0.5;
    }

    /// <summary>The definition, as one matrix of 3N + 12 rows (kernel +r, so the covariances come in with a minus).</summary>
    private static Vector<double> SolveCoupledDirectly(Vector3d[] sources, Vector3d[] targets, Matrix3d[] covariances, double smoothing)
    {
        int n = sources.Length;
        Matrix<double> a = Matrix<double>.Build.Dense((3 * n) + 12, (3 * n) + 12);
        Vector<double> b = Vector<double>.Build.Dense((3 * n) + 12);
        for (int axis = 0; axis < 3; axis++)
        {
            for (int i = 0; i < n; i++)
            {
                int row = (axis * n) + i;
                b[row] = targets[i][axis];
                Vector3d[] c = [covariances[i].Row0, covariances[i].Row1, covariances[i].Row2];
                for (int j = 0; j < n; j++)
                {
                    a[row, (axis * n) + j] = Vector3d.Distance(sources[i], sources[j]);
                }

                for (int other = 0; other < 3; other++)
                {
                    a[row, (other * n) + i] -= smoothing * c[axis][other];
                }

                for (int k = 0; k < 4; k++)
                {
                    a[row, (3 * n) + (4 * axis) + k] = a[(3 * n) + (4 * axis) + k, row] = k == 0 ? 1 : sources[i][k - 1];
                }
            }
        }

        return a.Solve(b);
    }

    private static PlaneSolution SolvePlane(Vector3d[] points, double[] values)
    {
        var system = PolyharmonicSystem.Create<ThinPlateKernel>(points, new double[points.Length], 3);
        var weights = new double[points.Length];
        (double constant, Vector3d gradient) = system.Solve(values, weights);
        double energy = 0;
        for (int i = 0; i < points.Length; i++)
        {
            for (int j = 0; j < points.Length; j++)
            {
                energy += weights[i] * weights[j] * ThinPlateKernel.At((points[i] - points[j]).LengthSquared);
            }
        }

        return new PlaneSolution(weights, constant, gradient, energy);
    }

    private static void AssertAll(double[] expected, double[] actual, double tolerance)
    {
        for (int i = 0; i < expected.Length; i++)
        {
            Assert.Equal(expected[i], actual[i], tolerance);
        }
    }

    private sealed record PlaneSolution(double[] Weights, double Constant, Vector3d Gradient, double Energy);
}
