using AutoPlace.Conditioning;
using AutoPlace.Geometry;
using Xunit;

namespace AutoPlace.Tests.Conditioning;

public sealed class HeadFinderTests
{
    private static readonly TriangleMesh Box = new(
        [new(-1, -1, -1), new(1, -1, 1), new(0, 2, 0), new(1, 1, -1)], [0, 1, 2, 0, 2, 3, 1, 3, 2]);

    [Fact]
    public void Facing_that_scores_best_is_found_whatever_its_place_in_the_list()
    {
        foreach (Facing truth in AxisFrames.All)
        {
            FrameScore found = HeadFinder.Find("box", Box, null, null, ScoreBy(truth, 0.9), TestContext.Current.CancellationToken);
            Assert.Equal((truth.Up, truth.Front), (found.Refined.Up, found.Refined.Front));
        }
    }

    [Fact]
    public void Nothing_that_looks_like_a_head_is_refused_with_the_files_name()
    {
        HeadNotFoundException refused = Assert.Throws<HeadNotFoundException>(() => HeadFinder.Find(
            "cube.obj", Box, null, null, ScoreBy(AxisFrames.All[0], 0.2), TestContext.Current.CancellationToken));
        Assert.StartsWith("cube.obj: no head found", refused.Message, StringComparison.Ordinal);
    }

    [Fact]
    public void Axes_that_the_user_gave_are_the_only_ones_tried()
    {
        var tried = new HashSet<Vector3d>();
        FrameScorer scorer = (candidates, _) =>
        {
            tried.UnionWith(candidates.Select(c => c.Up));
            return [.. candidates.Select(c => new FrameScore(0.4, c, c))];
        };
        HeadFinder.Find("box", Box, Vector3d.UnitZ, null, scorer, TestContext.Current.CancellationToken);
        Assert.Equal([Vector3d.UnitZ], tried);
    }

    private static FrameScorer ScoreBy(Facing truth, double agreement) => (candidates, _) =>
        [.. candidates.Select(c => new FrameScore(c.Up == truth.Up && c.Front == truth.Front ? agreement : 0.1, c, c))];
}
