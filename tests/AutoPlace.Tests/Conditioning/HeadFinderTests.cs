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

    /// <summary>Who says which way a head is turned says that there is one; of one axis alone nothing follows.</summary>
    [Fact]
    public void Hardly_a_head_is_taken_where_both_axes_are_told()
    {
        Facing told = AxisFrames.All[5];
        FrameScorer scorer = ScoreBy(told, 0.2);
        FrameScore found = HeadFinder.Find("box", Box, told.Up, told.Front, scorer, TestContext.Current.CancellationToken).First();
        Assert.True(Looks(told, found.Refined));
        Assert.Throws<HeadNotFoundException>(() => HeadFinder.Find(
            "box", Box, told.Up, null, scorer, TestContext.Current.CancellationToken).First());
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
    public void Head_is_given_too_where_something_else_agrees_better()
    {
        (Facing neck, Facing head) = (AxisFrames.All[7], AxisFrames.All[18]);
        FrameScorer scorer = (candidates, _) =>
            [.. candidates.Select(c => new FrameScore(Looks(neck, c) ? 0.7 : Looks(head, c) ? 0.4 : 0, c, c))];
        FrameScore[] found = [.. HeadFinder.Find("box", Box, null, null, scorer, TestContext.Current.CancellationToken)];
        Assert.True(Looks(neck, found[0].Refined));
        Assert.Contains(found, f => Looks(head, f.Refined));
    }

    [Fact]
    public void Plausible_place_in_a_usual_facing_is_given_before_the_other_facings_are_looked_through()
    {
        Facing[] usual = [.. AxisFrames.All.Take(2)];
        foreach (Facing truth in usual)
        {
            var tried = new List<HeadFrame>();
            FrameScorer look = ScoreBy(truth, 0.4);
            FrameScore first = HeadFinder.Find("box", Box, null, null, Noting(tried, look), TestContext.Current.CancellationToken).First();
            Assert.True(Looks(truth, first.Refined));
            Assert.All(tried, c => Assert.Contains(usual, f => Looks(f, c)));
        }
    }

    [Fact]
    public void Convincing_place_is_given_after_the_first_two_looks_at_it()
    {
        var tried = new List<HeadFrame>();
        FrameScorer look = ScoreBy(AxisFrames.All[0], 0.9);
        _ = HeadFinder.Find("box", Box, null, null, Noting(tried, look), TestContext.Current.CancellationToken).First();
        Assert.Equal(2, tried.Count);
    }

    [Fact]
    public void Place_that_unlikely_views_suggest_is_given()
    {
        Facing truth = AxisFrames.All[14];
        var head = new HeadFrame(new(0.1, 0.2, 0.3), truth.Left, truth.Up, truth.Front, 0.25);
        FrameScorer scorer = (candidates, _) =>
            [.. candidates.Select(c => new FrameScore(c == head ? 0.5 : Looks(truth, c) ? 0.005 : 0, c, Looks(truth, c) ? head : c))];
        Assert.Equal(head, HeadFinder.Find("box", Box, null, null, scorer, TestContext.Current.CancellationToken).First().Refined);
    }

    [Fact]
    public void Places_that_only_just_differ_are_given_once()
    {
        Facing truth = AxisFrames.All[14];
        double shift = 0;
        FrameScorer scorer = (candidates, _) => [.. candidates.Select(c => Looks(truth, c)
            ? new FrameScore(0.5, c, new HeadFrame(new(shift += 0.001, 0, 0), truth.Left, truth.Up, truth.Front, 0.5))
            : new FrameScore(0.1, c, c))];
        Assert.Single(HeadFinder.Find("box", Box, null, null, scorer, TestContext.Current.CancellationToken));
    }

    [Fact]
    public void No_more_places_are_given_after_a_stage_than_are_worth_it()
    {
        FrameScorer scorer = (candidates, _) => [.. candidates.Select(c => new FrameScore(0.4, c, c))];
        HeadFrame[] found = [.. HeadFinder.Find("box", Box, null, null, scorer, TestContext.Current.CancellationToken).Select(f => f.Refined)];
        Assert.Equal(18, found.Length); // six after each of the three stages
        Assert.Equal(found.Length, found.Distinct().Count());
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

    private static FrameScorer Noting(List<HeadFrame> tried, FrameScorer look) => (candidates, cancellation) =>
    {
        tried.AddRange(candidates);
        return look(candidates, cancellation);
    };

    private static bool Looks(Facing facing, HeadFrame frame) => frame.Up == facing.Up && frame.Front == facing.Front;
}
