using AutoPlace.Geometry;
using AutoPlace.Registration;
using AutoPlace.Registration.Correcting;
using AutoPlace.Template;
using AutoPlace.Verification;
using CsCheck;
using Xunit;

namespace AutoPlace.Tests.Registration.Correcting;

/// <summary>Corrections of the template's own head, kept on that head in another shape.</summary>
public sealed class CorrectionFittingTests
{
    private static readonly CorrectableHead Before = TemplateOwnHead.Head;

    /// <summary>All that lies above the mouth stays; the lower face becomes 1.2 times as long.</summary>
    private static readonly Func<Vector3d, Vector3d> LongChin = p => p with { Y = p.Y - (0.2 * Math.Max(0, -0.7 - p.Y)) };

    private static readonly Lazy<CorrectableHead> Longer = new(() => TemplateOwnHead.Prepare(LongChin));

    private static readonly Corrections Made = Revision.First(Before)
        .After(Along("brow_3_left", new(0.02, 0.05, 0)))
        .After(Along("mental_tubercle_left", new(0.05, 0.03, 0)))
        .After(Along("eye_centre_left", new(0, 0, 0.03)))
        .After(Along("chin_end", new(0, 0.02, 0.02)))
        .After(new LockJoint("skullbase") { OfBodyRig = true })
        .Corrections;

    [Fact]
    public void On_the_same_file_nothing_changes()
    {
        (Corrections kept, IReadOnlyList<CorrectionFit> fits) = CorrectionFitting.Fit(Before, Made, sameFile: true);

        Assert.Equal(Made, kept);
        Assert.All(fits, fit => Assert.Equal(FitOutcome.AsItWas, fit.Outcome));
    }

    /// <summary>
    /// Whatever a person fixed is there on the changed head and back on the first one, with all that it says: to the last bit where
    /// that didn't change, else within three hundredths, up to which a place whose lift fits counts as unchanged.
    /// </summary>
    [Fact]
    public void Corrections_come_back_from_a_changed_head_as_they_went() =>
        Gen.Select(Gen.Int[0, Before.Automatic.Joints.Count - 1], Coordinate, Coordinate, Coordinate, Gen.Int[0, 3]).Array[1, 12].Sample(
            steps =>
            {
                Corrections made = steps.Aggregate(Revision.First(Before), (at, step) => Fixed(at, step.Item1, new(step.Item2, step.Item3, step.Item4), step.Item5)).Corrections;

                (Corrections there, IReadOnlyList<CorrectionFit> fits) = CorrectionFitting.Fit(Longer.Value, made, sameFile: false);
                Corrections back = CorrectionFitting.Fit(Before, there, sameFile: false).Corrections;

                Assert.Equal(made.Joints.Keys, fits.Select(fit => fit.Subject));
                LatticePlacement placed = Longer.Value.Solve(there);
                foreach (JointCorrection was in made.Joints.Values)
                {
                    JointCorrection now = there.Joints[was.Joint], again = back.Joints[was.Joint];
                    Assert.Equal(was, now with { Position = was.Position });
                    Assert.Equal(was, again with { Position = was.Position });
                    Assert.Equal(now.Position ?? TemplateOwnHead.At(placed, was.Joint).Position, TemplateOwnHead.At(placed, was.Joint).Position);
                    bool stayed = fits.Single(fit => fit.Subject == was.Joint).Outcome == FitOutcome.AsItWas;
                    Assert.True(!stayed || (was == now && was == again), was.Joint);
                    Assert.True(was.Position is null || Vector3d.Distance(was.Position.Value, again.Position!.Value) <= 0.03, was.Joint);
                }
            },
            seed: "0N0XIzNsQ0O2",
            iter: 400);

    /// <summary>A mesh of another file and the same shape: the skin confirms what lies on it, the part what lies inside.</summary>
    [Fact]
    public void On_another_mesh_of_the_same_shape_corrections_stay_to_the_last_bit()
    {
        CorrectableHead remeshed = TemplateOwnHead.Prepare(p => p + new Vector3d(Math.Sin(40 * p.X), Math.Sin(40 * p.Y), Math.Sin(40 * p.Z)) * 0.001);

        (Corrections kept, IReadOnlyList<CorrectionFit> fits) = CorrectionFitting.Fit(remeshed, Made, sameFile: false);

        Assert.Equal(Made, kept);
        Assert.All(fits, fit => Assert.Equal(FitOutcome.AsItWas, fit.Outcome));
    }

    /// <summary>A corrected joint on the skin that has moved goes along with its point; the atlas point's way there and back leaves a hundredth at most.</summary>
    [Fact]
    public void Where_the_head_has_changed_a_correction_goes_along_with_the_skin()
    {
        CorrectableHead longer = TemplateOwnHead.Prepare(LongChin);

        (Corrections kept, IReadOnlyList<CorrectionFit> fits) = CorrectionFitting.Fit(longer, Made, sameFile: false);

        Assert.Equal(
            ["brow_3_left:AsItWas", "chin_end:FoundAgain", "eye_centre_left:AsItWas", "mental_tubercle_left:FoundAgain", "skullbase:AsItWas"],
            fits.Select(fit => $"{fit.Subject}:{fit.Outcome}"));
        Assert.All(fits.Where(fit => fit.Outcome == FitOutcome.FoundAgain), fit =>
        {
            JointCorrection was = Made.Joints[fit.Subject], now = kept.Joints[fit.Subject];
            Assert.True(Vector3d.Distance(LongChin(was.Position!.Value), now.Position!.Value) < 0.01, fit.Subject);
            Assert.Equal(was.AtlasPoint, now.AtlasPoint);
            Assert.Equal(Vector3d.Distance(was.Position.Value, now.Position.Value), fit.Distance, 1e-12);
        });
    }

    [Fact]
    public void Joint_of_the_body_rig_keeps_its_place_in_the_file_whatever_the_head_does()
    {
        CorrectableHead lower = TemplateOwnHead.Prepare(p => p with { Y = p.Y - 0.5 });

        (Corrections kept, _) = CorrectionFitting.Fit(lower, Made, sameFile: false);

        Assert.Equal(Made.Joints["skullbase"], kept.Joints["skullbase"]);
        Assert.NotEqual(Made.Joints["brow_3_left"], kept.Joints["brow_3_left"]);
    }

    [Fact]
    public void Correction_of_a_joint_that_is_not_there_is_kept_and_said()
    {
        var strange = new JointCorrection { Joint = "whisker_1", Position = new Vector3d(1, 2, 3), Note = "of another rig" };

        (Corrections kept, IReadOnlyList<CorrectionFit> fits) = CorrectionFitting.Fit(Before, Made.With(strange), sameFile: false);

        Assert.Equal(strange, kept.Joints["whisker_1"]);
        Assert.Contains(new CorrectionFit("whisker_1", FitOutcome.UnknownJoint, 0), fits);
        Assert.Equal(Before.Solve(Made).Joints, Before.Solve(kept).Joints);
    }

    /// <summary>Without an atlas point a correction stays where it says, and gets what finds it again on another head from this one.</summary>
    [Theory]
    [InlineData(true)]
    [InlineData(false)]
    public void Correction_that_has_a_position_alone_is_taken_by_it_and_gets_the_rest(bool sameFile)
    {
        Corrections alone = Made.Joints.Values.Where(c => c.LocksPosition).Aggregate(Made, (all, c) => all.With(c with { AtlasPoint = null, Lift = null }));

        (Corrections kept, IReadOnlyList<CorrectionFit> fits) = CorrectionFitting.Fit(Before, alone, sameFile);

        Assert.Equal(Made, kept);
        Assert.All(fits, fit => Assert.Equal(FitOutcome.TakenByPosition, fit.Outcome));
        Assert.All(CorrectionCheck.Run(fits, new HashSet<string>()), said => Assert.Equal(Severity.Info, said.Severity));
    }

    /// <summary>Somebody wrote the file in another unit: what is far from the head stays where it is, and is said with value and limit.</summary>
    [Fact]
    public void Correction_that_is_far_from_its_joint_is_kept_and_said()
    {
        Corrections far = Made.With(Made.Joints["brow_3_left"] with { Position = Before.AutomaticJoint("brow_3_left")!.Position + new Vector3d(0, 80, 0) });

        (Corrections kept, IReadOnlyList<CorrectionFit> fits) = CorrectionFitting.Fit(Before, far, sameFile: true);

        Assert.Equal(far, kept);
        Finding said = Assert.Single(CorrectionCheck.Run(fits, new HashSet<string>()));
        Assert.Equal(("brow_3_left", Severity.Warning, 1.0), (said.Subject, said.Severity, said.Limit));
        Assert.Equal(80, said.Value, 1e-9);
        Assert.Contains("80.000", said.Message, StringComparison.Ordinal);
    }

    /// <summary>What comes in from outside is bounded: what follows a joint that was put at the border can't be locked beyond it.</summary>
    [Fact]
    public void Joint_beyond_all_reach_is_refused_by_name()
    {
        Revision first = Revision.First(Before);

        Assert.Equal("pronasale", Assert.Throws<CorrectionException>(() => first.After(new MoveJoint("pronasale", new Vector3d(0, 0, 1001)))).Subject);
    }

    /// <summary>What was corrected elsewhere comes back as corrections that give the same placement.</summary>
    [Fact]
    public void Differences_from_the_automatic_placement_become_corrections()
    {
        LatticePlacement corrected = Before.Solve(Made);
        JointPlacement[] elsewhere = [.. corrected.Joints.Select(j => j.Joint.Name == "pronasale"
            ? j with { Position = j.Position + new Vector3d(0, 0, 0.01) }
            : j)];

        Corrections found = CorrectionDifferences.Of(Before, elsewhere);

        Assert.Equal(Made.Joints.Keys.Append("pronasale").Order(StringComparer.Ordinal), found.Joints.Keys);
        Assert.Equal(corrected.Joints.Single(j => j.Joint.Name == "brow_2_left"), Before.Solve(found).Joints.Single(j => j.Joint.Name == "brow_2_left"));
        Assert.True(CorrectionDifferences.Of(Before, Before.Automatic.Joints).IsEmpty);
    }

    private static Gen<double> Coordinate => Gen.Double[-0.08, 0.08];

    private static Revision Fixed(Revision at, int joint, Vector3d by, int kind)
    {
        string name = Before.Automatic.Joints[joint].Joint.Name;
        return kind switch
        {
            0 => at.After(new LockJoint(name, Position: true, Rotation: true)),
            1 => at.After(new TurnJoint(name, new Rotation3d(by.X, by.Y, by.Z, 1).Normalized())),
            _ => at.After(Along(name, by) with { Influence = kind == 2 ? null : 0.3, Note = "by hand" }),
        };
    }

    private static MoveJoint Along(string name, Vector3d by) => new(name, Before.AutomaticJoint(name)!.Position + by) { AlongSkin = true };
}
