using System.Text;
using System.Text.Json.Nodes;
using AutoPlace.Geometry;
using AutoPlace.Landmarks;
using AutoPlace.Tests.Calibration;
using AutoPlace.Tests.Landmarks;
using AutoPlace.Verification;
using Xunit;

namespace AutoPlace.Tests.Verification;

public sealed class ConfidenceCalibrationTests : IDisposable
{
    private readonly string _folder = Directory.CreateTempSubdirectory("calibration-").FullName;

    public void Dispose() => Directory.Delete(_folder, recursive: true);

    [Fact]
    public void Tree_goes_left_up_to_the_threshold()
    {
        //        x0 <= 1
        //      x1 <= 2    30
        //    10      20
        var tree = new DecisionTree([0, 1], [1, 2], [1, ~0], [~2, ~1], [10, 20, 30]);
        var trees = new TreeEnsemble(0.5, [tree, new DecisionTree([], [], [], [], [4])], 2);

        Assert.Equal(14.5, trees.Evaluate([1, 2]));
        Assert.Equal(24.5, trees.Evaluate([1, 2.5]));
        Assert.Equal(34.5, trees.Evaluate([1.01, 0]));
    }

    [Theory]
    [InlineData(5, 1, -1)]
    [InlineData(0, 0, -1)]
    [InlineData(0, 1, -9)]
    [InlineData(-1, 1, -1)]
    public void Tree_that_is_not_whole_is_refused(int feature, int child, int leaf) => Assert.Throws<ArgumentException>(() =>
        new TreeEnsemble(0, [new DecisionTree([feature, 0], [0, 0], [child, ~1], [leaf, ~2], [1, 2, 3])], 2));

    [Fact]
    public void Radius_is_the_expected_error_times_the_factor_of_its_class()
    {
        ConformalRadii radii = SampleCalibration.Create().Joints;

        Assert.Equal(2 * Math.Exp(-3), radii.Radius90(-3), 1e-12);
        Assert.Equal(2 * Math.Exp(-2.5), radii.Radius90(-2.5), 1e-12);
        Assert.Equal(3 * Math.Exp(-2), radii.Radius90(-2), 1e-12);
    }

    [Fact]
    public void Calibrated_landmarks_have_the_radius_and_keep_their_shape()
    {
        ConfidenceCalibration calibration = SampleCalibration.Create();
        Landmark[] landmarks =
        [
            new("subnasale", new(1, 2, 3), Matrix3d.Diagonal(1, 4, 9) * 1e-4, 0.9, LandmarkSource.Network),
            new("menton", default, default, 0.9, LandmarkSource.Network),
        ];

        IReadOnlyList<Landmark> calibrated = calibration.Calibrated(landmarks, [-3, -2]);

        Assert.Equal(calibration.Radii.Errors.Radius90(-3), ConfidenceRadius.Of90(calibrated[0].Covariance), 1e-12);
        Assert.Equal(calibration.Radii.Errors.Radius90(-2), ConfidenceRadius.Of90(calibrated[1].Covariance), 1e-12);
        Assert.Equal(9, calibrated[0].Covariance.Row2.Z / calibrated[0].Covariance.Row0.X, 1e-9);
        Assert.Equal(landmarks[0], calibrated[0] with { Covariance = landmarks[0].Covariance });
    }

    [Fact]
    public void Inputs_are_as_many_as_the_trees_are_given()
    {
        double[] head = new double[HeadFeatures.Names.Count], landmark = new double[LandmarkFeatures.Names.Count];
        double[] inputs = RadiusCalibration.Inputs(SampleCalibration.Create().Radii.Usual[0], landmark, head);

        Assert.Equal(RadiusCalibration.InputCount, inputs.Length);
        Assert.Equal(ConfidenceCalibration.FailureInputCount, ConfidenceCalibration.FailureInputs(head, [-3, -2]).Length);

        // How far atlas and dense place, both 0 here, lie from the usual, and their difference from the usual one.
        Assert.Equal(
            [-3.5, Math.Sqrt(1.3125), Math.Sqrt(1.625), 0.25], inputs[LandmarkFeatures.OwnCount..(LandmarkFeatures.OwnCount + 4)]);
    }

    [Fact]
    public void File_comes_back_as_it_was()
    {
        byte[] written = CalibrationFile.Write(SampleCalibration.Create());

        ConfidenceCalibration read = CalibrationFile.Read(written);

        Assert.Equal(written, CalibrationFile.Write(read));
        Assert.Equal(3 * Math.Exp(-2), read.Radii.Errors.Radius90(-2), 1e-12);
        Assert.Equal(1 / (1 + Math.Exp(0.75)), read.Failure.Probability([.. Enumerable.Repeat(0.75, ConfidenceCalibration.FailureInputCount)]), 1e-12);
    }

    [Theory]
    [InlineData("format", "\"other\"")]
    [InlineData("version", "1")]
    [InlineData("landmarkFeatures", "[\"presence\"]")]
    [InlineData("jointFeatures", "[\"lift\"]")]
    [InlineData("headFeatures", "[]")]
    [InlineData("radius90", "{}")]
    [InlineData("jointRadius90", "{\"classBorders\": [], \"factors\": []}")]
    [InlineData("failure", "{\"slope\": 1}")]
    public void File_of_another_program_is_refused(string key, string value)
    {
        JsonNode root = JsonNode.Parse(CalibrationFile.Write(SampleCalibration.Create()))!;
        root[key] = JsonNode.Parse(value);

        Assert.Throws<FormatException>(() => CalibrationFile.Read(Encoding.UTF8.GetBytes(root.ToJsonString())));
    }

    [Fact]
    public void Calibration_of_another_network_is_refused_and_none_is_none()
    {
        foreach (string file in new[] { "model.json", "model.onnx" })
        {
            File.Copy(Path.Combine(TestModel.Folder, file), Path.Combine(_folder, file));
        }

        var model = LandmarkModel.Open(_folder);
        Assert.Null(CalibrationFile.Beside(model));

        string path = Path.Combine(_folder, CalibrationFile.Name);
        File.WriteAllBytes(path, CalibrationFile.Write(SampleCalibration.Create() with { ModelSha256 = model.Sha256 }));
        Assert.NotNull(CalibrationFile.Beside(model));

        File.WriteAllBytes(path, CalibrationFile.Write(SampleCalibration.Create()));
        string message = Assert.Throws<LandmarkModelException>(() => CalibrationFile.Beside(model)).Message;
        Assert.Contains(CalibrationFile.Name, message, StringComparison.Ordinal);
        Assert.Contains(model.Sha256, message, StringComparison.Ordinal);
    }

    [Fact]
    public void Released_model_has_a_calibration() => Assert.NotNull(CalibrationFile.Beside(LandmarkModel.OpenDefault()));
}
