using AutoPlace.Export;
using AutoPlace.Geometry;
using AutoPlace.Import;
using AutoPlace.Registration;
using AutoPlace.Registration.Correcting;
using AutoPlace.Template;
using AutoPlace.Tests.Demo;
using Xunit;

namespace AutoPlace.Tests;

public sealed class CorrectedPlacementTests
{
    private static readonly Lazy<PlacementResult> Placed = new(() =>
    {
        using PlacementPipeline pipeline = PlacementPipeline.Open();
        return pipeline.Run(MeshReader.Read(DemoFolder.Truths["maren"].MeshPath), PlacementOptions.Default, CancellationToken.None);
    });

    private static CancellationToken Cancellation => TestContext.Current.CancellationToken;

    [Fact]
    public void Corrections_solved_afterwards_give_what_the_pipeline_gives_when_it_keeps_them()
    {
        Revision moved = Revision.First(Placed.Value.Correctable!)
            .After(new MoveJoint("brow_2_left", At("brow_2_left") + new Vector3d(0, 0.05, 0)))
            .After(new MoveLandmark("pronasale", Placed.Value.Landmarks.First(l => l.Name == "pronasale").Position + new Vector3d(0, 0.03, 0)));
        CorrectionsDocument stored = CorrectionCoordinates.Describe(Placed.Value with { Corrections = moved.Corrections });
        PlacementResult afterwards = CorrectedPlacement.Of(Placed.Value, CorrectionCoordinates.ToHeadFrame(stored, Placed.Value.Frame), Cancellation);
        using PlacementPipeline pipeline = PlacementPipeline.Open();
        PlacementResult kept = pipeline.Run(Placed.Value.Scan, PlacementOptions.Default with { Corrections = stored }, Cancellation);
        Assert.Equal(kept.Placement.Joints, afterwards.Placement.Joints);
        Assert.Equal(kept.Landmarks, afterwards.Landmarks);
        Assert.Equal(kept.Findings, afterwards.Findings);
        Assert.Equal(kept.NeedsPerson.Probability, afterwards.NeedsPerson.Probability);
    }

    [Fact]
    public void Taking_all_corrections_away_gives_the_programs_own_placement_back()
    {
        Revision moved = Revision.First(Placed.Value.Correctable!).After(new MoveLandmark("menton", Placed.Value.Landmarks.First(l => l.Name == "menton").Position));
        PlacementResult corrected = CorrectedPlacement.Of(Placed.Value, moved.Corrections, Cancellation);
        PlacementResult back = CorrectedPlacement.Of(corrected, Corrections.None, Cancellation);
        Assert.Equal(Placed.Value.Placement.Joints, back.Placement.Joints);
        Assert.Equal(Placed.Value.Findings, back.Findings);
    }

    [Fact]
    public void Named_joints_are_mirrored_though_nobody_corrected_them()
    {
        Revision mirrored = Revision.First(Placed.Value.Correctable!).After(new MirrorJoints(Side.Left) { Joints = ["brow_2_left"] });
        JointCorrection correction = Assert.Single(mirrored.Corrections.Joints.Values);
        Assert.Equal("brow_2_right", correction.Joint);
        Vector3d image = At("brow_2_left") with { X = -At("brow_2_left").X };
        Assert.True(Vector3d.Distance(image, correction.Position!.Value) < 0.1); // on the skin of the other side, which differs a little
        CorrectionException refused = Assert.Throws<CorrectionException>(
            () => Revision.First(Placed.Value.Correctable!).After(new MirrorJoints(Side.Left) { Joints = ["brow_2_right"] }));
        Assert.Equal("brow_2_right", refused.Subject);
    }

    [Fact]
    public void Row_goes_to_the_loop_through_the_edge_nearest_to_a_point()
    {
        CorrectableHead head = Placed.Value.Correctable!;
        PolygonMesh polygons = Placed.Value.Scan.Mesh;
        (int from, int to) = (polygons.Face(100)[0], polygons.Face(100)[1]);
        Vector3d middle = Vector3d.Lerp(head.HeadMesh.Positions[from], head.HeadMesh.Positions[to], 0.5);
        RowToLoop edit = RowToLoop.Through(head, "brow", middle);
        Assert.Equal((Math.Min(from, to), Math.Max(from, to)), edit.Edge);
    }

    [Fact]
    public void Pivot_goes_to_the_piece_of_a_part_that_is_nearest()
    {
        CorrectableHead head = Placed.Value.Correctable!;
        HeadScan scan = Placed.Value.Scan;
        HashSet<int> balls = [];
        for (int f = 0; f < scan.Mesh.FaceCount; f++)
        {
            balls.UnionWith(scan.Parts[scan.FaceParts[f]].Name.StartsWith("eyeball", StringComparison.Ordinal) ? scan.Mesh.Face(f).ToArray() : []);
        }

        foreach (double side in (double[])[-0.5, 0.5])
        {
            Revision moved = Revision.First(head).After(PivotToPart.Nearest(head, "jaw_hinge", balls, new Vector3d(side, 0, 0)));
            Assert.True(Vector3d.Distance(new Vector3d(side, 0, 0), moved.Corrections.Joints["jaw_hinge"].Position!.Value) < 0.1); // eye centres lie at half an interocular distance
        }
    }

    private static Vector3d At(string joint)
    {
        JointPlacement placed = Placed.Value.Placement.Joints.First(j => j.Joint.Name == joint);
        return placed.Position;
    }
}
