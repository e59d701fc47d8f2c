using AutoPlace.Geometry;
using Xunit;

namespace AutoPlace.Tests.Geometry;

public sealed class WeightedPairsTests
{
    // Counts around the vector width.
    [Theory]
    [InlineData(4)]
    [InlineData(5)]
    [InlineData(7)]
    [InlineData(64)]
    [InlineData(1001)]
    public void Alignment_is_that_of_the_scalar_twin(int count)
    {
        (WeightedPairs pairs, _, _, _) = Drawn(count, seed: 11);
        SimilarityTransform earlier = pairs.Align(SimilarityTransform.Identity, double.PositiveInfinity);
        foreach (double half in new[] { 0.05, 0.5, double.PositiveInfinity })
        {
            SimilarityTransform wide = pairs.Align(earlier, half), scalar = pairs.AlignScalar(earlier, half);
            Assert.Equal(scalar.Scale, wide.Scale, 1e-12);
            Assert.True(Draw.Difference(scalar.Rotation, wide.Rotation) < 1e-12);
            Assert.True(Vector3d.Distance(scalar.Translation, wide.Translation) < 1e-12);
        }
    }

    [Fact]
    public void Without_reweighting_it_is_the_alignment_of_Umeyama()
    {
        (WeightedPairs pairs, Vector3d[] source, Vector3d[] target, double[] weights) = Drawn(200, seed: 12);
        SimilarityTransform expected = ProcrustesAlignment.Align(source, target, weights);
        SimilarityTransform found = pairs.Align(SimilarityTransform.Identity, double.PositiveInfinity);
        Assert.Equal(expected.Scale, found.Scale, 1e-12);
        Assert.True(Draw.Difference(expected.Rotation, found.Rotation) < 1e-12);
        Assert.True(Vector3d.Distance(expected.Translation, found.Translation) < 1e-12);
    }

    [Fact]
    public void Pairs_far_off_lose_their_say()
    {
        var random = new Random(13);
        var truth = new SimilarityTransform(1.2, Draw.Rotation(random), Draw.Point(random));
        Vector3d[] source = Draw.Points(random, 300);
        var pairs = new WeightedPairs(source.Length);
        for (int i = 0; i < source.Length; i++)
        {
            // One in five lies somewhere else.
            pairs.Set(i, source[i], truth.Apply(source[i]) + (i % 5 == 0 ? Draw.Point(random) * 3 : Vector3d.Zero), 1);
        }

        SimilarityTransform fit = pairs.Align(SimilarityTransform.Identity, double.PositiveInfinity);
        double plain = Vector3d.Distance(fit.Translation, truth.Translation);
        for (int round = 0; round < 30; round++)
        {
            fit = pairs.Align(fit, 0.05);
        }

        Assert.True(Vector3d.Distance(fit.Translation, truth.Translation) < 0.05 * plain);
        Assert.InRange(pairs.ShareWithin(fit, 0.05), 0.8, 0.85);
    }

    private static (WeightedPairs Pairs, Vector3d[] Source, Vector3d[] Target, double[] Weights) Drawn(int count, int seed)
    {
        var random = new Random(seed);
        var truth = new SimilarityTransform(0.7, Draw.Rotation(random), Draw.Point(random));
        Vector3d[] source = Draw.Points(random, count);
        Vector3d[] target = [.. source.Select(p => truth.Apply(p) + (Draw.Point(random) * 0.1))];
        double[] weights = [.. source.Select(_ => random.NextDouble() + 0.1)];
        var pairs = new WeightedPairs(count);
        for (int i = 0; i < count; i++)
        {
            pairs.Set(i, source[i], target[i], weights[i]);
        }

        return (pairs, source, target, weights);
    }
}
