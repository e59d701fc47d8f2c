using System.Numerics;
using AutoPlace.Conditioning;
using AutoPlace.Geometry;
using AutoPlace.Import;
using AutoPlace.Landmarks;
using AutoPlace.Rendering;
using AutoPlace.Tests.Demo;
using Xunit;

namespace AutoPlace.Tests.Landmarks;

public sealed class HeadSurveyTests : IDisposable
{
    private const int Cells = SurveyContract.MapSize * SurveyContract.MapSize;
    private readonly SurveyNetwork _network = SurveyNetwork.OpenDefault();

    public void Dispose() => _network.Dispose();

    [Fact]
    public void Product_and_trainer_write_the_same_contract() =>
        Assert.Equal(File.ReadAllText(Path.Combine(TestModel.TrainerFolder, "finder-contract.txt")), SurveyContract.Text);

    /// <summary>Closed form: a head whose frame is known, written into a map and read again, from views of any direction.</summary>
    [Fact]
    public void Head_that_a_map_shows_is_read_where_it_is()
    {
        var head = new HeadFrame(new(0.4, 1.2, -0.3), new(0, 0.6, 0.8), new(0, -0.8, 0.6), Vector3d.UnitX, 0.2);
        foreach (float yaw in (float[])[0, 70, 200])
        {
            var view = OrthographicView.Around(new(0.1f, 1, 0), yaw, 25, 2, ModelContract.InputSize);
            HeadSurvey.Proposal read = Assert.Single(HeadSurvey.Read(MapOf(head, view), view));
            Assert.Equal(1 / (1 + Math.Exp(-3)), read.Presence, 6);
            Assert.True(Vector3d.Distance(head.Origin, read.Frame.Origin) < 1e-6);
            Assert.Equal(head.InterocularDistance, read.Frame.InterocularDistance, 6);
            Assert.True(Vector3d.Distance(head.Front, read.Frame.Front) + Vector3d.Distance(head.Up, read.Frame.Up) + Vector3d.Distance(head.Left, read.Frame.Left) < 1e-5);
        }
    }

    [Fact]
    public void Map_that_names_no_direction_proposes_nothing()
    {
        float[] map = new float[SurveyContract.Shape(SurveyContract.Map)[0] * Cells];
        Assert.Empty(HeadSurvey.Read(map, OrthographicView.Around(Vector3.Zero, 0, 0, 1, ModelContract.InputSize)));
    }

    /// <summary>However a puppet is turned in its file, one of the first four places is where it faces upright: within 30 degrees, 0.7 interocular distances and 40 %.</summary>
    [Theory]
    [MemberData(nameof(DemoFolder.Names), MemberType = typeof(DemoFolder))]
    public void Turned_head_is_among_the_first_proposals(string name)
    {
        HeadScan scan = MeshReader.Read(DemoFolder.Truths[name].MeshPath);
        using var pipeline = PlacementPipeline.Open();
        HeadFrame upright = pipeline.Run(scan, PlacementOptions.Default, TestContext.Current.CancellationToken).Frame;
        foreach (Quaternion turn in Turns())
        {
            Vector3d Map(Vector3d v) => (Vector3d)Vector3.Transform((Vector3)v, turn);
            var turned = ScanSurface.Of(ScanVariants.Mapped(scan, Map), []);
            HeadFrame truth = new(Map(upright.Origin), Map(upright.Left), Map(upright.Up), Map(upright.Front), upright.InterocularDistance);
            IReadOnlyList<HeadFrame> proposed = HeadSurvey.Propose(turned, _network, TestContext.Current.CancellationToken);
            Assert.Contains(proposed.Take(4), frame => frame.IsLike(truth, 1 + (2 * Math.Cos(Math.PI / 6)), 0.7, 1.4));
        }
    }

    [Fact]
    public void Scan_without_a_face_has_nothing_proposed()
    {
        HeadScan head = MeshReader.Read(DemoFolder.Truths["maren"].MeshPath);
        var nothing = ScanSurface.Of(ScanVariants.With(head, new PolygonMesh([new(0, 0, 0), new(1, 0, 0)], [0], []), []), []);
        Assert.Empty(HeadSurvey.Propose(nothing, _network, TestContext.Current.CancellationToken));
    }

    private static IEnumerable<Quaternion> Turns()
    {
        yield return Quaternion.Identity;
        yield return Quaternion.CreateFromAxisAngle(Vector3.UnitX, MathF.PI / 2);
        yield return Quaternion.CreateFromYawPitchRoll(2.1f, -0.7f, 0.5f);
        yield return Quaternion.CreateFromYawPitchRoll(-0.6f, 1.3f, 2.6f);
    }

    // A map with one cell that says so; the others say no and point nowhere.
    private static float[] MapOf(HeadFrame head, in OrthographicView view)
    {
        float[] map = new float[SurveyContract.Shape(SurveyContract.Map)[0] * Cells];
        map.AsSpan(0, Cells).Fill(-9);
        Vector3 at = view.Project((Vector3)head.Origin);
        (int column, int row) = ((int)at.X / SurveyContract.CellPixels, (int)at.Y / SurveyContract.CellPixels);
        int cell = (row * SurveyContract.MapSize) + column;
        map[cell] = 3;
        for (int k = 0; k < 3; k++)
        {
            Vector3 axis = k switch { 0 => view.Right, 1 => view.Up, _ => view.Toward };
            map[((SurveyContract.Front + k) * Cells) + cell] = 0.8f * Vector3.Dot((Vector3)head.Front, axis);
            map[((SurveyContract.Up + k) * Cells) + cell] = 1.1f * Vector3.Dot((Vector3)head.Up, axis);
        }

        map[(SurveyContract.OffsetX * Cells) + cell] = (at.X / SurveyContract.CellPixels) - column - 0.5f;
        map[(SurveyContract.OffsetY * Cells) + cell] = (at.Y / SurveyContract.CellPixels) - row - 0.5f;
        map[(SurveyContract.LogInterocular * Cells) + cell] = MathF.Log((float)head.InterocularDistance / view.HalfSize);
        map[(SurveyContract.Depth * Cells) + cell] = at.Z / view.HalfSize;
        return map;
    }
}
