using AutoPlace.Landmarks;
using AutoPlace.Registration;
using AutoPlace.Template;
using AutoPlace.Verification;
using Xunit;

namespace AutoPlace.Tests.Verification;

public sealed class ReviewNeedTests
{
    private static readonly IReadOnlyList<Landmark> Landmarks =
        [.. LandmarkNames.Required.Select(n => new Landmark(n, default, default, 1, LandmarkSource.Network))];

    private static readonly Finding Fault = new("clearance", Severity.Error, "zygion_left", -0.1, 0, "IOD", "zygion_left lies under the skin.");

    [Fact]
    public void Calibrated_probability_is_taken_and_what_is_uncertain_gives_reasons_only()
    {
        IReadOnlyList<Landmark> unseen = [.. Landmarks.Select(l => l with { Source = LandmarkSource.Inferred })];

        NeedsPerson need = ReviewNeed.Judge(0.5, new HeadConfidence(unseen, 0.125), unseen, [], []);

        Assert.Equal(0.125, need.Probability, 1e-12);
        Assert.Equal(1 + LandmarkNames.Required.Count, need.Reasons.Count);
    }

    [Fact]
    public void Head_that_looks_misunderstood_says_so() =>
        Assert.Contains("40 %", Assert.Single(ReviewNeed.Judge(1, new HeadConfidence(Landmarks, 0.4), Landmarks, [], []).Reasons), StringComparison.Ordinal);

    [Fact]
    public void Other_heads_of_the_file_are_a_reason_and_no_doubt()
    {
        NeedsPerson need = ReviewNeed.Judge(1, new HeadConfidence(Landmarks, 0.125) { OtherHeads = ["second", "at (1, 2, 3)"] }, Landmarks, [], []);

        Assert.Equal(0.125, need.Probability, 1e-12);
        Assert.Equal(["the file holds other heads, too: second, at (1, 2, 3)"], need.Reasons);
    }

    /// <summary>Only where skin was expected: a tongue that isn't modelled is ordinary.</summary>
    [Fact]
    public void Regions_whose_skin_was_not_seen_are_a_reason_and_no_doubt()
    {
        JointPlacement[] joints =
        [
            Inferred("ear", JointKind.Surface), Inferred("ear", JointKind.Surface), Inferred(null, JointKind.Surface), Inferred("tongue", JointKind.Pivot),
            Inferred("lip", JointKind.Surface) with { State = JointState.Modelled },
        ];

        NeedsPerson need = ReviewNeed.Judge(1, new HeadConfidence(Landmarks, 0.125), Landmarks, [], joints);

        Assert.Equal(0.125, need.Probability, 1e-12);
        Assert.Equal(["skin not seen, so that joints are inferred: ear 2, other 1"], need.Reasons);

        static JointPlacement Inferred(string? region, JointKind kind) =>
            SampleHead.Place(SampleHead.Lattice.Joints[0] with { Region = region, Kind = kind }) with { State = JointState.Inferred };
    }

    [Fact]
    public void Failed_checks_are_one_doubt_and_each_a_reason()
    {
        NeedsPerson need = ReviewNeed.Judge(1, new HeadConfidence(Landmarks, 0.125), Landmarks, [Fault, Fault], []);

        Assert.Equal(1 - (0.875 * 0.5), need.Probability, 1e-12);
        string reason = Fault.Message.TrimEnd('.'); // reasons are listed in one sentence
        Assert.Equal([reason, reason], need.Reasons);
    }

    [Fact]
    public void Without_a_calibration_what_is_known_to_go_wrong_is_judged()
    {
        Assert.Equal(0, ReviewNeed.Judge(1, new HeadConfidence(Landmarks, null), Landmarks, [], []).Probability);
        Assert.Equal(0.5, ReviewNeed.Judge(0.5, new HeadConfidence(Landmarks, null), Landmarks, [], []).Probability, 1e-12);
    }
}
