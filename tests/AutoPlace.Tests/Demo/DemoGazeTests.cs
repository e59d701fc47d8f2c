using System.Numerics;
using AutoPlace.Geometry;
using AutoPlace.Import;
using AutoPlace.TemplateBuilder.Cast.Measuring;
using AutoPlace.Verification;
using Xunit;

namespace AutoPlace.Tests.Demo;

/// <summary>Where the demonstration heads look: three have the template's balls with a cornea, one of them flattened to plates, the others plain balls.</summary>
public sealed class DemoGazeTests : IDisposable
{
    private static readonly string[] Names =
        [NeutralState.GazeLeftPitchDegrees, NeutralState.GazeLeftYawDegrees, NeutralState.GazeRightPitchDegrees, NeutralState.GazeRightYawDegrees];

    private readonly PlacementPipeline _pipeline = PlacementPipeline.Open();

    /// <summary>Eyes turned in the file about their true centres, degrees, as seen from above and then from the left; the frame as found is within two degrees of the true one.</summary>
    [Theory]
    [InlineData("maren", 0, 0)]
    [InlineData("maren", 20, -10)]
    [InlineData("osric", 0, 0)]
    [InlineData("osric", -15, 12)]
    public void Gaze_of_eyes_with_a_cornea_is_where_they_were_turned_to(string name, double yaw, double pitch)
    {
        const double WithinDegrees = 2;
        TruthFile truth = DemoFolder.Truths[name];

        IReadOnlyDictionary<string, double> neutral = Neutral(Turned(truth, yaw, pitch));

        foreach (string side in (string[])["Left", "Right"])
        {
            Assert.Equal(yaw, neutral[$"gaze{side}YawDegrees"], WithinDegrees);
            Assert.Equal(pitch, neutral[$"gaze{side}PitchDegrees"], WithinDegrees);
        }
    }

    [Theory]
    [InlineData("tibb")]
    [InlineData("wick")]
    [InlineData("brannoc")]
    public void Plain_balls_and_plates_tell_no_gaze(string name) =>
        Assert.DoesNotContain(Neutral(MeshReader.Read(DemoFolder.Truths[name].MeshPath)).Keys, Names.Contains);

    /// <inheritdoc/>
    public void Dispose() => _pipeline.Dispose();

    private static HeadScan Turned(TruthFile truth, double yaw, double pitch)
    {
        HeadScan scan = MeshReader.Read(truth.MeshPath);
        Vector3[] positions = scan.Mesh.Positions.ToArray();
        Quaternion turn = Quaternion.CreateFromAxisAngle((Vector3)truth.Up, (float)double.DegreesToRadians(yaw))
            * Quaternion.CreateFromAxisAngle((Vector3)truth.Left, (float)-double.DegreesToRadians(pitch));
        foreach (string side in (string[])["left", "right"])
        {
            var centre = (Vector3)truth.Joints[$"eye_centre_{side}"];
            int[] faces = [.. Enumerable.Range(0, scan.Mesh.FaceCount).Where(f => scan.Parts[scan.FaceParts[f]].Name == $"eyeball_{side}")];
            Assert.NotEmpty(faces);
            foreach (int v in faces.SelectMany(f => scan.Mesh.Face(f).ToArray()).Distinct())
            {
                positions[v] = centre + Vector3.Transform(positions[v] - centre, turn);
            }
        }

        return ScanVariants.With(scan, new PolygonMesh(positions, scan.Mesh.FaceStarts.ToArray(), scan.Mesh.FaceVertices.ToArray()), scan.FaceParts);
    }

    private IReadOnlyDictionary<string, double> Neutral(HeadScan scan) =>
        _pipeline.Run(scan, PlacementOptions.Default, TestContext.Current.CancellationToken).Neutral;
}
