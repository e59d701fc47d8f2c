using AutoPlace.Export;
using AutoPlace.Geometry;
using AutoPlace.Import;
using AutoPlace.Landmarks;
using AutoPlace.Registration.Correcting;
using AutoPlace.Verification;
using Xunit;

namespace AutoPlace.Tests.Demo;

/// <summary>A landmark of a demonstration head put elsewhere by a person.</summary>
public sealed class DemoLandmarkTests
{
    /// <summary>The mouth's corner goes where the person has it, and what is far away hardly moves; a kept landmark gives the same lattice again.</summary>
    [Fact]
    public void Lattice_is_laid_anew_by_a_landmark_that_a_person_set()
    {
        using PlacementPipeline pipeline = PlacementPipeline.Open();
        HeadScan scan = MeshReader.Read(DemoFolder.Truths["maren"].MeshPath);
        PlacementResult placed = Place(PlacementOptions.Default);
        Revision first = Revision.First(placed.Correctable!);
        Vector3d corner = placed.Landmarks.Single(l => l.Name == "cheilion_left").Position;

        Revision moved = first.After(new MoveLandmark("cheilion_left", corner + new Vector3d(0.06, 0.03, 0)));

        Vector3d by = moved.Corrections.Landmarks["cheilion_left"].Position - corner;
        Assert.InRange(Followed("commissure_left"), 0.75, 1.25);

        // The corner's own joint looks for the fold between the lips, which the test leaves where it is.
        Assert.InRange(Followed("lip_corner_left"), 0.5, 1.25);
        Assert.InRange(Vector3d.Distance(moved.Joint("metopion").Position, first.Joint("metopion").Position), 0, 0.005);
        Assert.InRange(Vector3d.Distance(moved.Joint("ear_top_right").Position, first.Joint("ear_top_right").Position), 0, 0.01);
        Assert.Same(first, moved.Before);
        Assert.Equal(first.Placement.Joints, moved.After(new UnlockLandmark("cheilion_left")).Placement.Joints);

        CorrectionsDocument made = CorrectionCoordinates.Describe(placed with { Corrections = moved.Corrections });
        PlacementResult kept = Place(PlacementOptions.Default with { Corrections = made });

        Landmark set = kept.Landmarks.Single(l => l.Name == "cheilion_left");
        Assert.Equal(LandmarkSource.Lock, set.Source);
        Assert.Equal(made.Landmarks, CorrectionCoordinates.Describe(kept).Landmarks);
        Assert.True(Vector3d.Distance(
            kept.Placement.Joints.Single(j => j.Joint.Name == "lip_corner_left").Position, moved.Joint("lip_corner_left").Position) < 1e-4);

        double Followed(string joint) => Vector3d.Dot(moved.Joint(joint).Position - first.Joint(joint).Position, by) / by.LengthSquared;

        PlacementResult Place(PlacementOptions options) => pipeline.Run(scan, options, TestContext.Current.CancellationToken);
    }

    /// <summary>On a symmetric head the other side's landmark is laid by the mirror image: the file says where, and gives the same when it is read, kept or checked.</summary>
    [Fact]
    public void Landmark_set_on_a_symmetric_head_takes_its_mirror_image_along_in_the_file_too()
    {
        using PlacementPipeline pipeline = PlacementPipeline.Open();
        HeadScan scan = MeshReader.Read(DemoFolder.Truths["maren"].MeshPath);
        PlacementOptions symmetric = PlacementOptions.Default with { Symmetric = true };
        PlacementResult placed = Place(symmetric);
        Revision moved = Revision.First(placed.Correctable!).After(
            new MoveLandmark("cheilion_left", placed.Landmarks.Single(l => l.Name == "cheilion_left").Position + new Vector3d(0.06, 0.03, 0)));
        CorrectionsDocument made = CorrectionCoordinates.Describe(placed with { Corrections = moved.Corrections });

        PlacementResult kept = Place(symmetric with { Corrections = made });

        Landmark set = kept.Landmarks.Single(l => l.Name == "cheilion_left"), image = kept.Landmarks.Single(l => l.Name == "cheilion_right");
        Assert.Equal(set.Position with { X = -set.Position.X }, image.Position);
        Assert.Equal((set.Covariance, LandmarkSource.Lock, LandmarkSource.Network), (image.Covariance, set.Source, image.Source));
        PlacementDocument written = FileCoordinates.Describe(kept);
        PlacementResult again = Place(symmetric with { Corrected = written });
        Assert.Equal(["cheilion_left"], again.Corrections.Landmarks.Keys);
        Assert.Empty(again.Corrections.Joints);
        Assert.All(written.Landmarks.Zip(FileCoordinates.Describe(again).Landmarks), pair =>
        {
            Assert.Equal(pair.First with { Position = pair.Second.Position }, pair.Second);
            Assert.True(Vector3d.Distance(pair.First.Position, pair.Second.Position) < 2e-8, pair.First.Name); // the image of what was rounded: one unit of the last decimal
        });
        Assert.Equal(Said(kept.Findings), Said(CorrectedPlacement.Judge(placed, written, placed.Template)));

        PlacementResult Place(PlacementOptions options) => pipeline.Run(scan, options, TestContext.Current.CancellationToken);

        static IEnumerable<string> Said(IEnumerable<Finding> findings) =>
            findings.Select(f => $"{f.Severity} {f.Check} {f.Subject} {f.Value:F2}").Order(StringComparer.Ordinal);
    }

    /// <summary>Two moves of one landmark are one place: on another file of the same shape it is found there again, and a joint that was locked before isn't moved twice.</summary>
    [Fact]
    public void Landmark_moved_twice_and_a_joint_locked_before_are_found_again_where_they_were_put()
    {
        using PlacementPipeline pipeline = PlacementPipeline.Open();
        PlacementResult placed = pipeline.Run(MeshReader.Read(DemoFolder.Truths["maren"].MeshPath), PlacementOptions.Default, TestContext.Current.CancellationToken);
        Vector3d corner = placed.Landmarks.Single(l => l.Name == "cheilion_left").Position;
        Revision locked = Revision.First(placed.Correctable!).After(new LockJoint("nasolabial_2_left"));

        Revision moved = locked
            .After(new MoveLandmark("cheilion_left", corner + new Vector3d(0.1, 0.05, 0)))
            .After(new MoveLandmark("cheilion_left", corner + new Vector3d(0.12, 0.05, 0)));

        (Corrections kept, IReadOnlyList<CorrectionFit> fits) = CorrectionFitting.Fit(placed.Correctable!, moved.Corrections, sameFile: false);
        Assert.All(fits, fit => Assert.Equal((fit.Subject, FitOutcome.AsItWas), (fit.Subject, fit.Outcome)));
        Assert.Equal(moved.Corrections, kept);
        Assert.Equal(locked.Joint("nasolabial_2_left").Position, moved.Joint("nasolabial_2_left").Position);
    }

    /// <summary>Who moves a landmark in placement.json has moved nothing else: the joints there, where the program had them, follow it.</summary>
    [Fact]
    public void Landmark_moved_in_a_placement_is_one_correction()
    {
        using PlacementPipeline pipeline = PlacementPipeline.Open();
        HeadScan scan = MeshReader.Read(DemoFolder.Truths["maren"].MeshPath);
        PlacementDocument written = FileCoordinates.Describe(pipeline.Run(scan, PlacementOptions.Default, TestContext.Current.CancellationToken));
        Vector3d to = written.Landmarks.Single(l => l.Name == "pronasale").Position + new Vector3d(0, 0.005, 0);

        PlacementResult kept = pipeline.Run(
            scan,
            PlacementOptions.Default with
            {
                Corrected = written with { Landmarks = [.. written.Landmarks.Select(l => l.Name == "pronasale" ? l with { Position = to } : l)] },
            },
            TestContext.Current.CancellationToken);

        Assert.Equal(["pronasale"], kept.Corrections.Landmarks.Keys);
        Assert.Empty(kept.Corrections.Joints);
        Vector3d nose = kept.Frame.ToFile(kept.Placement.Joints.Single(j => j.Joint.Name == "pronasale").Position);
        Assert.InRange(Vector3d.Distance(nose, to), 0, 0.002);
    }
}
