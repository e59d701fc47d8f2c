using AutoPlace.Export;
using AutoPlace.Geometry;
using AutoPlace.Import;
using AutoPlace.Landmarks;
using AutoPlace.Registration.Correcting;
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
}
