using AutoPlace.Geometry;
using CsCheck;
using Xunit;

namespace AutoPlace.Tests.Geometry;

public sealed class ProcrustesAlignmentTests
{
    [Fact]
    public void Random_similarity_is_recovered() =>
        Gen.Int[0, int.MaxValue].Select(Gen.Int[4, 40]).Sample(
            (seed, count) =>
            {
                var random = new Random(seed);
                var truth = new SimilarityTransform(Math.Exp(Draw.Normal(random)), Draw.Rotation(random), Draw.Point(random) * 10);
                Vector3d[] source = Draw.Points(random, count);
                Vector3d[] target = [.. source.Select(truth.Apply)];
                double[] weights = [.. source.Select(_ => random.NextDouble() + 0.01)];
                SimilarityTransform found = ProcrustesAlignment.Align(source, target, weights);
                return Math.Abs((found.Scale / truth.Scale) - 1) < 1e-11
                    && Draw.Difference(found.Rotation, truth.Rotation) < 1e-11
                    && Vector3d.Distance(found.Translation, truth.Translation) < 1e-10
                    && ProcrustesAlignment.MeanSquaredError(found, source, target) < 1e-22 * truth.Scale * truth.Scale * 100;
            },
            seed: "0N0XIzNsQ0O2",
            iter: 500);

    [Fact]
    public void Mirrored_set_is_mirrored_only_when_allowed()
    {
        var random = new Random(5);
        Vector3d[] source = Draw.Points(random, 20);
        Matrix3d r = Draw.Rotation(random) * Matrix3d.Diagonal(-1, 1, 1);
        Vector3d[] target = [.. source.Select(p => r * p)];
        SimilarityTransform free = ProcrustesAlignment.Align(source, target, allowReflection: true);
        Assert.True(Draw.Difference(free.Rotation, r) < 1e-13);
        SimilarityTransform proper = ProcrustesAlignment.Align(source, target);
        Assert.Equal(1, proper.Rotation.Determinant, 1e-13);
        Assert.True(ProcrustesAlignment.MeanSquaredError(proper, source, target) > 0.1);
    }

    /// <summary>
    /// The plane example of Umeyama 1991, section IV, where the best orthogonal matrix would mirror. Values were
    /// computed anew from the definition: R = [[.83205, .55470], [-.55470, .83205]], scale .72111; the mean squared
    /// error .53333 (the paper prints .053). In space the triangle is repeated at z = +h and -h, which adds h^2 to the
    /// third diagonal element of the correlation and leaves the rest as in the plane, so for h^2 above the plane's
    /// singular values the reflection has to be avoided within the plane.
    /// </summary>
    [Fact]
    public void Umeyamas_example_with_reflection()
    {
        const double h = 2;
        Vector3d[] x = [new(0, 0, 0), new(1, 0, 0), new(0, 2, 0)], y = [new(0, 0, 0), new(-1, 0, 0), new(0, 2, 0)];
        Vector3d up = Vector3d.UnitZ * h;
        Vector3d[] source = [.. x.Select(p => p + up), .. x.Select(p => p - up)];
        Vector3d[] target = [.. y.Select(p => p + up), .. y.Select(p => p - up)];

        SimilarityTransform rigid = ProcrustesAlignment.Align(source, target, allowScale: false);
        Assert.Equal(0.83205, rigid.Rotation.Row0.X, 5e-6);
        Assert.Equal(0.55470, rigid.Rotation.Row0.Y, 5e-6);
        Assert.Equal(-0.55470, rigid.Rotation.Row1.X, 5e-6);
        Assert.Equal(0.83205, rigid.Rotation.Row1.Y, 5e-6);
        Assert.Equal(-0.98048, rigid.Translation.X, 5e-6);
        Assert.Equal(0.29687, rigid.Translation.Y, 5e-6);
        Assert.Equal(0.61975, ProcrustesAlignment.MeanSquaredError(rigid, source, target), 5e-6);

        // Scale: trace over variance, .72111 * 10/9 over 10/9 in the plane, h^2 more in both here.
        SimilarityTransform scaled = ProcrustesAlignment.Align(source, target);
        Assert.Equal(((0.72111 * 10 / 9) + (h * h)) / ((10.0 / 9) + (h * h)), scaled.Scale, 5e-6);
    }

    [Fact]
    public void Umeyamas_example_in_its_own_plane_is_turned_over_in_space()
    {
        // Flat sets can be turned over through the third dimension: nothing remains.
        Vector3d[] x = [new(0, 0, 0), new(1, 0, 0), new(0, 2, 0)], y = [new(0, 0, 0), new(-1, 0, 0), new(0, 2, 0)];
        foreach (bool allowReflection in (bool[])[false, true])
        {
            SimilarityTransform found = ProcrustesAlignment.Align(x, y, allowReflection: allowReflection);
            Assert.True(Draw.Difference(found.Rotation, Matrix3d.Diagonal(-1, 1, -1)) < 1e-14);
            Assert.Equal(1, found.Scale, 1e-14);
        }
    }

    [Fact]
    public void Collinear_set_is_turned_by_the_smallest_angle()
    {
        Vector3d[] source = [new(0, 0, 0), new(1, 0, 0), new(3, 0, 0)];
        Vector3d[] target = [new(5, 0, 0), new(5, 2, 0), new(5, 6, 0)];
        SimilarityTransform found = ProcrustesAlignment.Align(source, target);
        Assert.True(Draw.Difference(found.Rotation, new Matrix3d(new(0, -1, 0), new(1, 0, 0), new(0, 0, 1))) < 1e-14);
        Assert.Equal(2, found.Scale, 1e-14);
        Vector3d[] back = [.. source.Select(p => -p)];
        SimilarityTransform half = ProcrustesAlignment.Align(source, back);
        Assert.Equal(1, half.Rotation.Determinant, 1e-14);
        Assert.Equal(0, ProcrustesAlignment.MeanSquaredError(half, source, back), 1e-14);
    }

    [Fact]
    public void Coincident_points_are_moved_only()
    {
        var random = new Random(6);
        Vector3d[] spread = Draw.Points(random, 5), point = [.. Enumerable.Repeat(new Vector3d(1, 2, 3), 5)];
        Assert.Equal(new SimilarityTransform(1, Matrix3d.Identity, new(1, 2, 3)), ProcrustesAlignment.Align([Vector3d.Zero], [new(1, 2, 3)]));
        foreach (SimilarityTransform found in (SimilarityTransform[])[ProcrustesAlignment.Align(spread, point), ProcrustesAlignment.Align(point, spread)])
        {
            Assert.Equal(1, found.Scale);
            Assert.Equal(Matrix3d.Identity, found.Rotation);
        }
    }

    [Fact]
    public void Weight_zero_leaves_a_point_out()
    {
        var random = new Random(7);
        Vector3d[] source = Draw.Points(random, 10), target = [.. source.Select(p => p + new Vector3d(1, 0, 0))];
        target[4] = new Vector3d(100, 100, 100);
        double[] weights = [.. Enumerable.Range(0, 10).Select(i => i == 4 ? 0.0 : 1.0)];
        SimilarityTransform found = ProcrustesAlignment.Align(source, target, weights);
        Assert.True(Vector3d.Distance(found.Translation, new(1, 0, 0)) < 1e-13);
    }

    [Fact]
    public void Unusable_points_or_weights_are_refused()
    {
        Vector3d[] one = [Vector3d.UnitX], two = [Vector3d.UnitX, Vector3d.UnitY];
        Assert.Throws<ArgumentException>(() => ProcrustesAlignment.Align([], []));
        Assert.Throws<ArgumentException>(() => ProcrustesAlignment.Align(one, two));
        Assert.Throws<ArgumentException>(() => ProcrustesAlignment.Align(two, two, [1]));
        Assert.Throws<ArgumentException>(() => ProcrustesAlignment.Align(two, two, [1, -1]));
        Assert.Throws<ArgumentException>(() => ProcrustesAlignment.Align(two, two, [0, 0]));
        Assert.Throws<ArgumentException>(() => ProcrustesAlignment.Align(one, [new(double.NaN, 0, 0)]));
    }
}
