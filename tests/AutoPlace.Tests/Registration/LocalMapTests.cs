using AutoPlace.Geometry;
using AutoPlace.Registration;
using AutoPlace.Template;
using Xunit;

namespace AutoPlace.Tests.Registration;

public sealed class LocalMapTests
{
    private static readonly Vector3d[] Cloud = [.. Enumerable.Range(0, 60).Select(i => new Vector3d(Math.Cos(i * 2.4), Math.Sin(i * 1.7), Math.Cos(i * 0.9) * 0.6))];
    private static readonly double[] Weights = [.. Enumerable.Range(0, 60).Select(i => 0.2 + (0.8 * (i % 5) / 4))];

    [Fact]
    public void Similarity_carries_places_exactly()
    {
        var moved = new SimilarityTransform(1.7, new Rotation3d(0.2, -0.4, 0.1, 0.9).Normalized().ToMatrix(), new Vector3d(3, -1, 2));
        var place = new Vector3d(0.4, -0.2, 0.9);

        (SimilarityTransform near, Vector3d at) = LocalMap.Carry(Cloud, [.. Cloud.Select(moved.Apply)], Weights, place);

        Assert.Equal(1.7, near.Scale, 1e-12);
        Assert.True(Vector3d.Distance(moved.Apply(place), at) < 1e-12);
    }

    /// <summary>The ridge takes a few hundredths of the bend away, no more.</summary>
    [Fact]
    public void Stretch_is_followed_where_a_similarity_cannot()
    {
        Func<Vector3d, Vector3d> stretch = p => new(p.X * 1.3, p.Y, p.Z * 0.9);
        var place = new Vector3d(0.8, 0.1, -0.3);

        (SimilarityTransform near, Vector3d at) = LocalMap.Carry(Cloud, [.. Cloud.Select(stretch)], Weights, place);

        double left = Vector3d.Distance(near.Apply(place), stretch(place));
        Assert.True(left > 0.1, $"{left}");
        Assert.InRange(Vector3d.Distance(at, stretch(place)), 0, 0.06 * left);
    }
}
