using AutoPlace.Conditioning;
using AutoPlace.Export;
using AutoPlace.Geometry;
using AutoPlace.Registration;
using AutoPlace.Template;
using Xunit;

namespace AutoPlace.Tests.Export;

public sealed class FileCoordinatesTests
{
    public static TheoryData<string> Frames => ["z-up", "mirrored"];

    [Theory]
    [InlineData(6.3, 6)]
    [InlineData(0.063, 8)]
    [InlineData(1, 6)]
    [InlineData(63, 5)]
    [InlineData(1e9, 0)]
    public void Lengths_keep_a_power_of_ten_of_at_most_a_millionth_of_the_head(double interocular, int decimals)
    {
        LengthRounding rounding = LengthRounding.For(interocular);

        Assert.Equal(decimals, rounding.Decimals);
        double length = 1.2345678901234567 * interocular;
        Assert.InRange(Math.Abs(rounding.Round(length) - length), 0, Math.Max(0.5, 0.5e-6 * interocular));
        Assert.Equal(rounding.Round(length), rounding.Round(rounding.Round(length)));
    }

    [Fact]
    public void Rounding_leaves_no_negative_zero() => Assert.False(double.IsNegative(LengthRounding.For(1).Round(-1e-9)));

    [Theory]
    [MemberData(nameof(Frames))]
    public void Locals_composed_down_the_tree_give_world_poses(string frame)
    {
        PlacementDocument document = PlacementJsonTests.Describe(frame);
        var world = new Dictionary<string, (Vector3d Position, Rotation3d Rotation)>();
        foreach (PlacedJoint joint in document.Joints)
        {
            (Vector3d origin, Rotation3d axes) = joint.Parent is null ? (Vector3d.Zero, Rotation3d.Identity) : world[joint.Parent];
            Vector3d position = origin + axes.Rotate(joint.LocalTranslation);
            Rotation3d rotation = axes * joint.LocalRotation;
            world.Add(joint.Name, (position, rotation));

            double size = document.Head.Frame.InterocularDistance;
            Assert.True(Vector3d.Distance(position, joint.Position) < 4e-6 * size, joint.Name);
            Assert.True(Rotation3d.AngleDegrees(rotation, joint.Rotation) < 1e-5, joint.Name);
        }
    }

    [Theory]
    [MemberData(nameof(Frames))]
    public void Document_taken_back_to_the_head_frame_is_the_placement(string frame)
    {
        PlacementResult result = SampleHead.Result(frame == "mirrored" ? SampleHead.Mirrored : SampleHead.ZUpCentimetres);

        LatticePlacement back = FileCoordinates.ToHeadFrame(FileCoordinates.Describe(result), result.Template);

        Assert.Equal(result.Placement.Joints.Count, back.Joints.Count);
        foreach ((JointPlacement expected, JointPlacement actual) in result.Placement.Joints.Zip(back.Joints))
        {
            Assert.Same(expected.Joint, actual.Joint);
            Assert.True(Vector3d.Distance(expected.Position, actual.Position) < 2e-6, expected.Joint.Name);
            Assert.True(Rotation3d.AngleDegrees(expected.Rotation, actual.Rotation) < 1e-5, expected.Joint.Name);
            Assert.Equal(expected.Lift, actual.Lift, 2e-6);
        }
    }

    // On the head x runs to the subject's left along the row; the file mirrors left and right, and x still runs
    // along the row, towards where the file has the subject's left or right.
    [Fact]
    public void In_mirrored_coordinates_normals_stay_normals_and_x_stays_along_the_row()
    {
        PlacementResult result = SampleHead.Result(SampleHead.Mirrored);
        HeadFrame frame = result.Frame;
        PlacementDocument document = FileCoordinates.Describe(result);
        PlacedJoint placed = document.Joints.Single(j => j.Name == "brow_2_left");
        Rotation3d onHead = result.Placement.Joints.Single(j => j.Joint.Name == "brow_2_left").Rotation;

        Vector3d normal = frame.DirectionToFile(onHead.Rotate(Vector3d.UnitZ));
        Vector3d along = frame.DirectionToFile(onHead.Rotate(Vector3d.UnitX));

        Assert.Equal(1, Vector3d.Dot(normal, placed.Rotation.Rotate(Vector3d.UnitZ)), 1e-6);
        Assert.Equal(-1, Vector3d.Dot(along, placed.Rotation.Rotate(Vector3d.UnitX)), 1e-6);
    }

    [Fact]
    public void Landmark_radius_survives_the_way_there_and_back()
    {
        PlacementResult result = SampleHead.Result();

        AutoPlace.Landmarks.Landmark back = FileCoordinates.LandmarksToHeadFrame(FileCoordinates.Describe(result))[0];

        Assert.Equal(result.Landmarks[0].Covariance.Trace, back.Covariance.Trace, 1e-6);
        Assert.True(Vector3d.Distance(result.Landmarks[0].Position, back.Position) < 2e-6);
    }
}
