using AutoPlace.Geometry;
using AutoPlace.Landmarks;
using AutoPlace.Registration;
using Xunit;

namespace AutoPlace.Tests.Registration;

public sealed class ControlPointFitTests
{
    private static readonly SimilarityTransform Pose = new(1.1, Matrix3d.Identity, new Vector3d(0.05, -0.02, 0.1));

    [Fact]
    public void Similar_head_is_mapped_exactly()
    {
        IReadOnlyList<ControlPoint> fitted = ControlPointFit.Fit(
            [new(0, 0, 0), new(0.2, 0.1, 0)], [Vector3d.UnitZ, Vector3d.UnitZ], Patch(Pose.Apply, 0, 1), Pose);
        Assert.Equal(2, fitted.Count);
        Assert.All(fitted, c => Assert.True(Vector3d.Distance(c.Head, Pose.Apply(c.Atlas)) < 1e-9));
    }

    [Fact]
    public void Affine_patch_is_followed_though_the_prior_is_another_map()
    {
        static Vector3d Stretch(Vector3d p) => new(1.4 * p.X, (0.8 * p.Y) + (0.1 * p.X), p.Z + 0.3);
        IReadOnlyList<ControlPoint> fitted = ControlPointFit.Fit(
            [new(0.05, 0.02, 0)], [Vector3d.UnitZ], Patch(Stretch, 0, 1), SimilarityTransform.Identity);
        Assert.True(Vector3d.Distance(fitted[0].Head, Stretch(fitted[0].Atlas)) < 2e-3);
    }

    [Fact]
    public void Few_wild_samples_hardly_matter_and_noise_shows_in_the_variance()
    {
        List<Correspondence> quiet = Patch(Pose.Apply, 0, 1), noisy = Patch(Pose.Apply, 0.05, 2);
        for (int i = 0; i < noisy.Count; i += 12)
        {
            noisy[i] = noisy[i] with { Head = noisy[i].Head + new Vector3d(0.5, 0.5, 0) };
        }

        ControlPoint q = ControlPointFit.Fit([Vector3d.Zero], [Vector3d.UnitZ], quiet, Pose)[0];
        ControlPoint n = ControlPointFit.Fit([Vector3d.Zero], [Vector3d.UnitZ], noisy, Pose)[0];
        Assert.True(Vector3d.Distance(n.Head, Pose.Apply(Vector3d.Zero)) < 0.02);
        Assert.True(n.Variance > q.Variance);
    }

    [Fact]
    public void Opposite_side_of_a_fold_is_not_asked()
    {
        List<Correspondence> samples = Patch(Pose.Apply, 0, 1);
        samples.AddRange(Patch(p => Pose.Apply(p) + new Vector3d(0, -0.3, 0), 0, 1).Select(s => s with { Normal = -Vector3d.UnitZ }));
        ControlPoint fitted = ControlPointFit.Fit([Vector3d.Zero], [Vector3d.UnitZ], samples, Pose)[0];
        Assert.True(Vector3d.Distance(fitted.Head, Pose.Apply(Vector3d.Zero)) < 1e-6);
    }

    [Fact]
    public void Control_point_without_samples_around_it_follows_the_similarity_with_a_wide_variance()
    {
        IReadOnlyList<ControlPoint> fitted = ControlPointFit.Fit(
            [new(5, 5, 5), Vector3d.Zero], [Vector3d.UnitZ, Vector3d.UnitZ], Patch(Pose.Apply, 0, 1), Pose);
        Assert.Equal(Pose.Apply(new(5, 5, 5)), fitted[0].Head);
        Assert.True(fitted[0].Variance > 100 * fitted[1].Variance);
    }

    [Fact]
    public void Order_of_the_samples_does_not_matter()
    {
        List<Correspondence> samples = Patch(Pose.Apply, 0.05, 3);
        List<Correspondence> reversed = [.. Enumerable.Reverse(samples)];
        Vector3d a = ControlPointFit.Fit([Vector3d.Zero], [Vector3d.UnitZ], samples, Pose)[0].Head;
        Vector3d b = ControlPointFit.Fit([Vector3d.Zero], [Vector3d.UnitZ], reversed, Pose)[0].Head;
        Assert.True(Vector3d.Distance(a, b) < 1e-10);
    }

    // A grid of samples on the plane z = 0 of the atlas, with seeded noise on the head.
    private static List<Correspondence> Patch(Func<Vector3d, Vector3d> map, double noise, int seed)
    {
        var random = new Random(seed);
        var samples = new List<Correspondence>();
        for (double x = -0.6; x <= 0.6; x += 0.043)
        {
            for (double y = -0.6; y <= 0.6; y += 0.041)
            {
                var atlas = new Vector3d(x, y, 0);
                var jitter = new Vector3d(random.NextDouble() - 0.5, random.NextDouble() - 0.5, random.NextDouble() - 0.5);
                samples.Add(new Correspondence(map(atlas) + (jitter * 2 * noise), Vector3d.UnitZ, atlas, 0.03, false));
            }
        }

        return samples;
    }
}
