using System.Globalization;
using System.Text;
using AutoPlace.Export;
using AutoPlace.Geometry;
using AutoPlace.Template;
using Xunit;

namespace AutoPlace.Tests.Export;

public sealed class JointsCsvTests
{
    [Fact]
    public void Each_joint_has_a_line_with_its_world_matrix_and_local_pose()
    {
        PlacementDocument document = PlacementJsonTests.Describe("z-up");

        string[][] lines = [.. Write(document).TrimEnd('\n').Split('\n').Select(l => l.Split(','))];

        Assert.Equal(document.Joints.Count + 1, lines.Length);
        Assert.All(lines, line => Assert.Equal(25, line.Length));
        foreach ((PlacedJoint joint, string[] line) in document.Joints.Zip(lines.Skip(1)))
        {
            double[] numbers = [.. line.Skip(2).Select(n => double.Parse(n, CultureInfo.InvariantCulture))];
            var matrix = new Matrix3d(
                new(numbers[0], numbers[1], numbers[2]), new(numbers[4], numbers[5], numbers[6]), new(numbers[8], numbers[9], numbers[10]));
            Assert.Equal(joint.Name, line[0]);
            Assert.Equal(joint.Parent ?? "", line[1]);
            Assert.Equal(joint.Position, new Vector3d(numbers[3], numbers[7], numbers[11]));
            Assert.Equal([0, 0, 0, 1], numbers[12..16]);
            Assert.True(Rotation3d.AngleDegrees(joint.Rotation, Rotation3d.FromMatrix(matrix)) < 1e-5);
            Assert.Equal(joint.LocalTranslation, new Vector3d(numbers[16], numbers[17], numbers[18]));
            Assert.Equal(joint.LocalRotation, new Rotation3d(numbers[19], numbers[20], numbers[21], numbers[22]));
        }
    }

    [Fact]
    public void Names_with_commas_and_quotes_are_quoted()
    {
        PlacementDocument document = PlacementJsonTests.Describe("z-up");
        PlacedJoint odd = document.Joints[0] with { Name = "a,\"b\"" };

        Assert.Contains("\n\"a,\"\"b\"\"\",,", Write(document with { Joints = [odd] }), StringComparison.Ordinal);
    }

    private static string Write(PlacementDocument document)
    {
        using var stream = new MemoryStream();
        JointsCsv.Write(document, stream);
        return Encoding.UTF8.GetString(stream.ToArray());
    }
}
