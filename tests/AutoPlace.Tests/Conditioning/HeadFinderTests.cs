using AutoPlace.Conditioning;
using AutoPlace.Geometry;
using Xunit;

namespace AutoPlace.Tests.Conditioning;

public sealed class HeadFinderTests
{
    private static readonly TriangleMesh Box = new(
        [new(-1, -1, -1), new(1, -1, 1), new(0, 2, 0), new(1, 1, -1)], [0, 1, 2, 0, 2, 3, 1, 3, 2]);

    private static readonly Facing[] Usual = [.. AxisFrames.All.Take(2)];

    [Fact]
    public void Head_in_a_usual_facing_is_found_with_nothing_proposed()
    {
        foreach (Facing truth in Usual)
        {
            FrameScore found = Find(ScoreBy(truth, 0.9), _ => throw new InvalidOperationException("asked for proposals")).First();
            Assert.Equal((truth.Up, truth.Front), (found.Refined.Up, found.Refined.Front));
        }
    }

    [Fact]
    public void Proposed_head_is_found_however_it_is_turned()
    {
        foreach (Facing truth in AxisFrames.All)
        {
            HeadFrame head = At(truth, 0.25);
            Assert.Equal(head, Find(ScoreBy(truth, 0.9), _ => [At(AxisFrames.All[9], 0.1), head]).First(f => Looks(truth, f.Refined) && f.Candidate == head).Refined);
        }
    }

    [Fact]
    public void Nothing_that_looks_like_a_head_is_refused_with_the_files_name()
    {
        HeadNotFoundException refused = Assert.Throws<HeadNotFoundException>(() => Find(ScoreBy(AxisFrames.All[0], 0.2), Nothing).First());
        Assert.StartsWith("box.obj: no head found: the best view agrees by 0.20", refused.Message, StringComparison.Ordinal);
    }

    /// <summary>Who says which way a head is turned says that there is one; of one axis alone nothing follows.</summary>
    [Fact]
    public void Hardly_a_head_is_taken_where_both_axes_are_told()
    {
        Facing told = AxisFrames.All[5];
        FrameScorer scorer = ScoreBy(told, 0.2);
        FrameScore found = Find(scorer, Nothing, told.Up, told.Front).First();
        Assert.True(Looks(told, found.Refined));
        Assert.Throws<HeadNotFoundException>(() => Find(scorer, Nothing, told.Up).First());
    }

    [Fact]
    public void Place_that_turns_out_to_be_no_head_is_followed_by_others()
    {
        (Facing first, Facing second) = (Usual[0], AxisFrames.All[11]);
        FrameScorer scorer = (candidates, _) =>
            [.. candidates.Select(c => new FrameScore(Looks(first, c) || Looks(second, c) ? 0.9 : 0.1, c, c))];
        HeadFrame[] found = [.. Find(scorer, _ => [At(second, 0.25)]).Select(f => f.Refined)];
        Assert.True(Looks(first, found[0]));
        Assert.Contains(found, f => Looks(second, f));
    }

    [Fact]
    public void Head_is_given_too_where_something_else_agrees_better()
    {
        (HeadFrame neck, HeadFrame head) = (At(AxisFrames.All[7], 0.25), At(AxisFrames.All[18], 0.25));
        FrameScorer scorer = (candidates, _) => [.. candidates.Select(c => new FrameScore(c == neck ? 0.7 : c == head ? 0.4 : 0, c, c))];
        Assert.Equal([neck, head], Find(scorer, _ => [head, neck]).Select(f => f.Refined));
    }

    [Fact]
    public void Plausible_place_in_a_usual_facing_is_given_before_anything_is_proposed()
    {
        foreach (Facing truth in Usual)
        {
            FrameScore first = Find(ScoreBy(truth, 0.4), _ => throw new InvalidOperationException("asked for proposals")).First();
            Assert.True(Looks(truth, first.Refined));
        }
    }

    [Fact]
    public void Convincing_place_is_given_after_the_first_two_looks_at_it()
    {
        var tried = new List<HeadFrame>();
        FrameScorer look = ScoreBy(Usual[0], 0.9);
        _ = Find(Noting(tried, look), Nothing).First();
        Assert.Equal(2, tried.Count);
    }

    [Fact]
    public void Place_that_unlikely_views_suggest_is_given()
    {
        Facing truth = AxisFrames.All[14];
        HeadFrame head = At(truth, 0.25), near = At(truth, 0.3);
        FrameScorer scorer = (candidates, _) =>
            [.. candidates.Select(c => new FrameScore(c == head ? 0.5 : c == near ? 0.01 : 0, c, c == near ? head : c))];
        Assert.Equal(head, Find(scorer, _ => [near]).First().Refined);
    }

    /// <summary>... and no more than three of them: what is no head gets proposals, too.</summary>
    [Fact]
    public void First_proposals_are_given_where_a_look_is_not_sure_of_them()
    {
        HeadFrame[] proposed = [.. AxisFrames.All.Skip(2).Take(5).Select(f => At(f, 0.25))];
        FrameScorer scorer = (candidates, _) => [.. candidates.Select(c => new FrameScore(proposed.Contains(c) ? 0.1 : 0.01, c, c))];
        Assert.Equal(proposed.Take(3), Find(scorer, _ => proposed).Select(f => f.Refined));
    }

    [Fact]
    public void Places_that_only_just_differ_are_given_once()
    {
        Facing truth = AxisFrames.All[14];
        FrameScorer scorer = (candidates, _) =>
            [.. candidates.Select(c => new FrameScore(Looks(truth, c) && c.InterocularDistance == 0.25 ? 0.5 : 0.1, c, c))];
        Assert.Single(Find(scorer, _ => [.. Enumerable.Range(0, 5).Select(i => At(truth, 0.25) with { Origin = new(0.001 * i, 0, 0) })]));
    }

    [Fact]
    public void No_more_places_are_given_after_a_stage_than_are_worth_it()
    {
        FrameScorer scorer = (candidates, _) => [.. candidates.Select(c => new FrameScore(0.4, c, c))];
        HeadFrame[] found = [.. Find(scorer, _ => [.. AxisFrames.All.Select(f => At(f, 0.01))]).Select(f => f.Refined)];
        Assert.InRange(found.Length, 12, 15); // six after each of the two stages, and the first three proposals
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
        _ = Find(scorer, _ => [.. AxisFrames.All.Select(f => At(f, 0.01))], Vector3d.UnitZ).Count();
        Assert.Equal([Vector3d.UnitZ], tried);
    }

    private static IEnumerable<FrameScore> Find(FrameScorer scorer, FrameProposer proposer, Vector3d? up = null, Vector3d? front = null) =>
        HeadFinder.Find("box.obj", Box, up, front, scorer, proposer, TestContext.Current.CancellationToken);

    private static IReadOnlyList<HeadFrame> Nothing(CancellationToken cancellation) => [];

    private static HeadFrame At(Facing facing, double interocular) => new(new(0.1, 0.2, 0.3), facing.Left, facing.Up, facing.Front, interocular);

    private static FrameScorer ScoreBy(Facing truth, double agreement) => (candidates, _) =>
        [.. candidates.Select(c => new FrameScore(Looks(truth, c) ? agreement : 0.1, c, c))];

    private static FrameScorer Noting(List<HeadFrame> tried, FrameScorer look) => (candidates, cancellation) =>
    {
        tried.AddRange(candidates);
        return look(candidates, cancellation);
    };

    private static bool Looks(Facing facing, HeadFrame frame) => frame.Up == facing.Up && frame.Front == facing.Front;
}
