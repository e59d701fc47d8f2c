using AutoPlace.Export;
using AutoPlace.Geometry;
using AutoPlace.Import;
using AutoPlace.Registration;
using AutoPlace.Registration.Correcting;
using AutoPlace.Template;
using AutoPlace.Verification;
using Xunit;

namespace AutoPlace.Tests.Demo;

/// <summary>Corrections of a demonstration head, kept on other versions of it.</summary>
public sealed class DemoKeepTests : IDisposable
{
    private readonly PlacementPipeline _pipeline = PlacementPipeline.Open();

    public void Dispose() => _pipeline.Dispose();

    /// <summary>The next version has its vertices and faces in another order and a chin that is a tenth longer: what lies above stays to the last digit, the chin's correction goes along.</summary>
    [Fact]
    public void Corrections_survive_another_version_of_the_head()
    {
        HeadScan scan = MeshReader.Read(DemoFolder.Truths["maren"].MeshPath);
        PlacementResult first = Place(scan, PlacementOptions.Default);
        Revision edited = Revision.First(first.Correctable!)
            .After(Moved(first, "brow_3_left", new(0, 0.04, 0)))
            .After(Moved(first, "cheek_middle_2_right", new(0.02, 0.03, 0)))
            .After(Moved(first, "mental_tubercle_left", new(0.02, 0.02, 0)));
        CorrectionsDocument made = CorrectionCoordinates.Describe(first with { Corrections = edited.Corrections });

        HeadScan next = Version(ScanVariants.Shuffled(ScanVariants.Mapped(scan, p => first.Frame.ToFile(LongChin(first.Frame.ToHead(p)))), 7));
        PlacementResult kept = Place(next, PlacementOptions.Default with { Corrections = made });

        CorrectionsDocument again = CorrectionCoordinates.Describe(kept);
        foreach (string name in (string[])["brow_3_left", "cheek_middle_2_right"])
        {
            Assert.Equal(made.Joints.Single(j => j.Name == name).Position, again.Joints.Single(j => j.Name == name).Position);
            Assert.True(kept.Placement.Joints.Single(j => j.Joint.Name == name).PositionLocked);
        }

        Vector3d chin = again.Joints.Single(j => j.Name == "mental_tubercle_left").Position!.Value;
        Vector3d expected = LongChin(edited.Joint("mental_tubercle_left").Position);
        Assert.True(Vector3d.Distance(first.Frame.ToHead(chin), expected) < 0.03);
        Finding said = Assert.Single(kept.Findings, f => f.Check == CorrectionCheck.Name);
        Assert.Equal(("mental_tubercle_left", Severity.Info), (said.Subject, said.Severity));
    }

    /// <summary>The next version is in centimetres, turned about, and away from where it was: corrections are where they were on the head.</summary>
    [Fact]
    public void Corrections_go_along_to_another_unit_axes_and_place()
    {
        HeadScan scan = MeshReader.Read(DemoFolder.Truths["maren"].MeshPath);
        PlacementResult first = Place(scan, PlacementOptions.Default);
        Revision edited = Revision.First(first.Correctable!)
            .After(Moved(first, "brow_3_left", new(0, 0.04, 0)))
            .After(Moved(first, "eye_centre_left", new(0, 0, 0.05)));
        CorrectionsDocument made = CorrectionCoordinates.Describe(first with { Corrections = edited.Corrections });
        static Vector3d Elsewhere(Vector3d p) => (new Vector3d(p.X, -p.Z, p.Y) * 100) + new Vector3d(30, 20, 10);

        PlacementResult kept = Place(Version(ScanVariants.Shuffled(ScanVariants.Mapped(scan, Elsewhere), 7)), PlacementOptions.Default with { Corrections = made });

        foreach (CorrectedJoint joint in CorrectionCoordinates.Describe(kept).Joints)
        {
            Vector3d expected = Elsewhere(made.Joints.Single(j => j.Name == joint.Name).Position!.Value);
            Assert.True(Vector3d.Distance(expected, joint.Position!.Value) < 0.01 * kept.Frame.InterocularDistance, joint.Name);
        }

        Finding said = Assert.Single(kept.Findings, f => f.Check == CorrectionCheck.Name);
        Assert.Equal(("head", Severity.Info), (said.Subject, said.Severity));
    }

    /// <summary>Corrections of the same file and those taken out of the placement that was written with them are the same placement.</summary>
    [Fact]
    public void Placement_written_with_corrections_gives_them_back()
    {
        HeadScan scan = MeshReader.Read(DemoFolder.Truths["tibb"].MeshPath);
        PlacementResult first = Place(scan, PlacementOptions.Default);
        Revision edited = Revision.First(first.Correctable!).After(Moved(first, "brow_3_left", new(0, 0.04, 0))).After(Moved(first, "eye_centre_left", new(0, 0, 0.03)));
        CorrectionsDocument made = CorrectionCoordinates.Describe(first with { Corrections = edited.Corrections });

        PlacementResult kept = Place(scan, PlacementOptions.Default with { Corrections = made });
        PlacementResult taken = Place(scan, PlacementOptions.Default with { Corrected = FileCoordinates.Describe(kept) });

        Assert.Equal(made.Joints, CorrectionCoordinates.Describe(kept).Joints);
        Assert.Equal(["brow_3_left", "eye_centre_left"], taken.Corrections.Joints.Keys);
        Assert.Equal(FileCoordinates.Describe(kept).Joints, FileCoordinates.Describe(taken).Joints);
    }

    /// <summary>
    /// Joints of lids, lips and nostrils, raised or sunk by a hundredth of the interocular distance along the normal of their own
    /// patch: that is their lift, whatever patch lies nearer, there and on another head (0.001: a tenth of it).
    /// </summary>
    [Theory]
    [InlineData(0.01)]
    [InlineData(-0.01)]
    public void Joint_in_a_fold_keeps_the_lift_from_its_own_patch_on_another_head(double by)
    {
        PlacementResult maren = Place(MeshReader.Read(DemoFolder.Truths["maren"].MeshPath), PlacementOptions.Default);
        var ride = new SkinRide(maren.Registration!.Evidence.Skin, maren.HeadMesh);
        JointPlacement[] folds = [.. maren.Placement.Joints.Where(j => j.Joint.InFold)];
        Corrections made = folds.Aggregate(
            Revision.First(maren.Correctable!), (at, j) => at.After(new MoveJoint(j.Joint.Name, j.Position + (ride.Under(j).Normal * by)))).Corrections;

        PlacementResult lysk = Place(
            MeshReader.Read(DemoFolder.Truths["lysk"].MeshPath), PlacementOptions.Default with { Corrections = CorrectionCoordinates.Describe(maren with { Corrections = made }) });

        Assert.NotEmpty(folds);
        var there = new SkinRide(lysk.Registration!.Evidence.Skin, lysk.HeadMesh);
        foreach (JointPlacement joint in folds)
        {
            JointPlacement kept = lysk.Placement.Joints.Single(j => j.Joint.Name == joint.Joint.Name);
            Assert.Equal(joint.Lift + by, made.Joints[joint.Joint.Name].Lift!.Value, 1e-3);
            Assert.Equal(joint.Lift + by, kept.Lift, 1e-3);
            Assert.Equal(kept.Lift, SkinRide.Lift(kept, there.Under(kept), kept.Position), 1e-3);
        }

        // Read back, the file gives the same: lifts to the last digit, and what follows from rounded positions.
        PlacementDocument written = FileCoordinates.Describe(lysk);
        PlacementDocument again = FileCoordinates.Describe(Place(lysk.Scan, PlacementOptions.Default with { Corrected = written }));
        Assert.All(written.Joints.Zip(again.Joints), pair =>
        {
            Assert.Equal((pair.First.Name, pair.First.Lift, pair.First.PositionLocked), (pair.Second.Name, pair.Second.Lift, pair.Second.PositionLocked));
            Assert.True(Vector3d.Distance(pair.First.Position, pair.Second.Position) < 1e-6 * lysk.Frame.InterocularDistance, pair.First.Name);
            Assert.True(Rotation3d.AngleDegrees(pair.First.Rotation, pair.Second.Rotation) < 0.01, pair.First.Name);
        });
    }

    /// <summary>The next version's cheek is thicker by 10 mm. A joint of the body rig stays and is under it, the other goes along; both are there, and the files say the same.</summary>
    [Fact]
    public void Lock_that_lies_under_the_skin_of_another_version_is_an_error_and_stays()
    {
        HeadScan scan = MeshReader.Read(DemoFolder.Truths["maren"].MeshPath);
        PlacementResult first = Place(scan, PlacementOptions.Default);
        Revision edited = Revision.First(first.Correctable!)
            .After(new LockJoint("cheek_middle_2_left") { OfBodyRig = true })
            .After(new LockJoint("cheek_middle_2_right"));
        CorrectionsDocument made = CorrectionCoordinates.Describe(first with { Corrections = edited.Corrections });
        Vector3d Thicker(Vector3d p)
        {
            Vector3d at = first.Frame.ToHead(p);
            double away = (at with { X = Math.Abs(at.X) } - edited.Joint("cheek_middle_2_left").Position).LengthSquared;
            return p + (first.Frame.Front * (0.01 * Math.Exp(-away / 0.1)));
        }

        PlacementResult kept = Place(Version(ScanVariants.Mapped(scan, Thicker)), PlacementOptions.Default with { Corrections = made });

        PlacementDocument written = FileCoordinates.Describe(kept);
        Assert.Equal(made.Joints.Single(j => j.OfBodyRig).Position, CorrectionCoordinates.Describe(kept).Joints.Single(j => j.OfBodyRig).Position);
        Assert.Equal(2, kept.Corrections.Joints.Count);
        Finding found = Assert.Single(kept.Findings, f => f.Check == ClearanceCheck.Name && f.Subject.StartsWith("cheek_middle_2", StringComparison.Ordinal));
        Assert.Equal(("cheek_middle_2_left", Severity.Error), (found.Subject, found.Severity));
        Assert.Equal(Clearances(kept.Findings), Clearances(CorrectedPlacement.Judge(kept, written, kept.Template)));

        static IEnumerable<string> Clearances(IEnumerable<Finding> findings) =>
            findings.Where(f => f.Check == ClearanceCheck.Name).Select(f => $"{f.Severity} {f.Subject} {f.Value:F4}").Order(StringComparer.Ordinal);
    }

    /// <summary>Written by hand, with positions alone: the same placement, and a file that has the rest.</summary>
    [Fact]
    public void Positions_alone_are_kept_as_what_was_corrected_with_all_its_keys()
    {
        HeadScan scan = MeshReader.Read(DemoFolder.Truths["tibb"].MeshPath);
        PlacementResult first = Place(scan, PlacementOptions.Default);
        Revision edited = Revision.First(first.Correctable!)
            .After(Moved(first, "brow_3_left", new(0, 0.04, 0)))
            .After(new MoveLandmark("menton", first.Landmarks.Single(l => l.Name == "menton").Position + new Vector3d(0, 0.03, 0)));
        CorrectionsDocument made = CorrectionCoordinates.Describe(first with { Corrections = edited.Corrections });
        CorrectionsDocument alone = made with
        {
            Joints = [.. made.Joints.Select(j => new CorrectedJoint { Name = j.Name, Position = j.Position })],
            Landmarks = [.. made.Landmarks.Select(l => l with { AtlasPoint = null })],
        };

        PlacementResult whole = Place(scan, PlacementOptions.Default with { Corrections = made }), kept = Place(scan, PlacementOptions.Default with { Corrections = alone });

        CorrectionsDocument written = CorrectionCoordinates.Describe(kept);
        Assert.Equal(made.Joints, written.Joints);
        Assert.Equal(made.Landmarks, written.Landmarks);
        Assert.Equal(FileCoordinates.Describe(whole).Joints, FileCoordinates.Describe(kept).Joints);
        Assert.Equal(["brow_3_left", "menton"], kept.Findings.Where(f => f.Check == CorrectionCheck.Name).Select(f => f.Subject).Order(StringComparer.Ordinal));
    }

    [Fact]
    public void Placement_of_another_head_is_refused()
    {
        PlacementResult tibb = Place(MeshReader.Read(DemoFolder.Truths["tibb"].MeshPath), PlacementOptions.Default);

        var refused = Assert.Throws<PlacementFormatException>(() => Place(
            MeshReader.Read(DemoFolder.Truths["senna"].MeshPath), PlacementOptions.Default with { Corrected = FileCoordinates.Describe(tibb) }));

        Assert.Equal("head.sha256", refused.Element);
    }

    private static Vector3d LongChin(Vector3d p) => p with { Y = p.Y - (0.25 * Math.Max(0, -1.1 - p.Y)) };

    private static HeadScan Version(HeadScan scan) => new()
    {
        Source = scan.Source,
        Sha256 = new string('d', 64),
        Format = scan.Format,
        MetresPerUnit = scan.MetresPerUnit,
        Mesh = scan.Mesh,
        Parts = scan.Parts,
        FaceParts = scan.FaceParts,
    };

    private static MoveJoint Moved(PlacementResult result, string name, Vector3d by) =>
        new(name, result.Correctable!.AutomaticJoint(name)!.Position + by) { AlongSkin = true };

    private PlacementResult Place(HeadScan scan, PlacementOptions options) => _pipeline.Run(scan, options, TestContext.Current.CancellationToken);
}
