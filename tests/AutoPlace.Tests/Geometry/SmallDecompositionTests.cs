using AutoPlace.Geometry;
using CsCheck;
using Xunit;

namespace AutoPlace.Tests.Geometry;

public sealed class SmallDecompositionTests
{
    [Fact]
    public void Eigenvectors_rebuild_a_random_symmetric_matrix() =>
        Gen.Int[0, int.MaxValue].Sample(
            seed =>
            {
                var random = new Random(seed);
                Matrix3d m = Draw.Matrix(random);
                m += m.Transposed();
                var eigen = SymmetricEigen3.Decompose(m);
                Matrix3d d = Matrix3d.Diagonal(eigen.Values.X, eigen.Values.Y, eigen.Values.Z);
                return Draw.Difference(eigen.Vectors * d * eigen.Vectors.Transposed(), m) < 1e-13
                    && Draw.Difference(eigen.Vectors * eigen.Vectors.Transposed(), Matrix3d.Identity) < 1e-14
                    && eigen.Values.X >= eigen.Values.Y && eigen.Values.Y >= eigen.Values.Z
                    && eigen.Vectors.Determinant > 0;
            },
            seed: "0N0XIzNsQ0O2",
            iter: 1000);

    [Theory]
    [InlineData(1, 1, 1)]
    [InlineData(2, 2, 1)]
    [InlineData(3, 1, 1)]
    [InlineData(1, 0, 0)]
    [InlineData(0, 0, 0)]
    [InlineData(1e8, 1, 1e-8)]
    [InlineData(1e-150, 1e-151, 0)]
    public void Eigenvalues_are_recovered_when_equal_or_graded(double a, double b, double c)
    {
        Matrix3d r = Draw.Rotation(new Random(3));
        var eigen = SymmetricEigen3.Decompose(r * Matrix3d.Diagonal(a, b, c) * r.Transposed());
        Assert.Equal(a, eigen.Values.X, 1e-15 * a);
        Assert.Equal(b, eigen.Values.Y, 1e-15 * a);
        Assert.Equal(c, eigen.Values.Z, 1e-15 * a);
    }

    [Fact]
    public void Singular_values_rebuild_a_random_matrix_of_any_rank() =>
        Gen.Int[0, int.MaxValue].Select(Gen.Int[0, 3]).Sample(
            (seed, rank) =>
            {
                var random = new Random(seed);
                var m = default(Matrix3d);
                for (int r = 0; r < rank; r++)
                {
                    m += Matrix3d.Outer(Draw.Point(random), Draw.Point(random));
                }

                var svd = SingularValues3.Decompose(m);
                Matrix3d d = Matrix3d.Diagonal(svd.Values.X, svd.Values.Y, svd.Values.Z);
                return Draw.Difference(svd.U * d * svd.V.Transposed(), m) < 1e-13
                    && Draw.Difference(svd.U * svd.U.Transposed(), Matrix3d.Identity) < 1e-14
                    && Draw.Difference(svd.V * svd.V.Transposed(), Matrix3d.Identity) < 1e-14
                    && svd.Values.X >= svd.Values.Y && svd.Values.Y >= svd.Values.Z && svd.Values.Z >= 0
                    && svd.V.Determinant > 0;
            },
            seed: "0N0XIzNsQ0O2",
            iter: 1000);

    [Fact]
    public void Matrix_that_is_not_finite_is_refused()
    {
        Assert.Throws<ArgumentException>(() => SymmetricEigen3.Decompose(Matrix3d.Diagonal(1, double.NaN, 1)));
        Assert.Throws<ArgumentException>(() => SingularValues3.Decompose(Matrix3d.Diagonal(1, double.PositiveInfinity, 1)));
    }
}
