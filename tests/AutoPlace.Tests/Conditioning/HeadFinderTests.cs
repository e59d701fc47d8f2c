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
            FrameScore found = HeadFinder.Find("box", Box, null, null, ScoreBy(truth, 0.9), TestContext.Current.CancellationToken).First();
            Assert.Equal((truth.Up, truth.Front), (found.Refined.Up, found.Refined.Front));
        }
    }

    [Fact]
    public void Nothing_that_looks_like_a_head_is_refused_with_the_files_name()
    {
        HeadNotFoundException refused = Assert.Throws<HeadNotFoundException>(() => HeadFinder.Find(
            "cube.obj", Box, null, null, ScoreBy(AxisFrames.All[0], 0.2), TestContext.Current.CancellationToken).First());
        Assert.StartsWith("cube.obj: no head found", refused.Message, StringComparison.Ordinal);
    }

    [Fact]
    public void Place_that_turns_out_to_be_no_head_is_followed_by_others()
    {
        (Facing first, Facing second) = (AxisFrames.All[2], AxisFrames.All[11]);
        FrameScorer scorer = (candidates, _) =>
            [.. candidates.Select(c => new FrameScore(Looks(first, c) || Looks(second, c) ? 0.9 : 0.1, c, c))];
        HeadFrame[] found = [.. HeadFinder.Find("box", Box, null, null, scorer, TestContext.Current.CancellationToken).Select(f => f.Refined)];
        Assert.True(Looks(first, found[0]));
        Assert.Contains(found, f => Looks(second, f));
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
        _ = HeadFinder.Find("box", Box, Vector3d.UnitZ, null, scorer, TestContext.Current.CancellationToken).Count();
        Assert.Equal([Vector3d.UnitZ], tried);
    }

    private static FrameScorer ScoreBy(Facing truth, double agreement) => (candidates, _) =>
        [.. candidates.Select(c => new FrameScore(Looks(truth, c) ? agreement : 0.1, c, c))];

    private static bool Looks(Facing facing, HeadFrame frame) => frame.Up == facing.Up && frame.Front == facing.Front;
}
