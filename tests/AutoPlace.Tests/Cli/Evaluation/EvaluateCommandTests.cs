using System.Globalization;
using System.Text.Json.Nodes;
using AutoPlace.Cli;
using AutoPlace.Cli.Evaluation;
using AutoPlace.Conditioning;
using AutoPlace.Geometry;
using AutoPlace.Tests.Export;
using Xunit;

namespace AutoPlace.Tests.Cli.Evaluation;

public sealed class EvaluateCommandTests : IDisposable
{
    private readonly string _folder = Directory.CreateTempSubdirectory("autoplace-").FullName;
    private readonly StringWriter _output = new();
    private readonly StringWriter _error = new();

    public void Dispose() => Directory.Delete(_folder, recursive: true);

    [Fact]
    public void Errors_are_in_percent_of_the_labelled_interocular_distance()
    {
        // The labels lie 0.1 interocular distances to the left of where the placement has the landmarks.
        AddHead("a", "realistic", ["subnasale", "pronasale"], new Vector3d(0.1, 0, 0));

        JsonNode head = Report()["heads"]![0]!;

        Assert.Equal(10, (double)head["errorPercent"]!["subnasale"]!, 0.01);
        Assert.Equal(10, (double)head["all"]!["median"]!, 0.01);
        Assert.Equal(0, (double)head["upDegrees"]!, 0.01);
        Assert.True((bool)head["placed"]!);
    }

    [Fact]
    public void Landmark_that_the_placement_leaves_out_counts_as_30_percent()
    {
        AddHead("a", "realistic", ["subnasale", "tragion_left"], Vector3d.Zero);

        Assert.Equal(30, (double)Report()["heads"]![0]!["errorPercent"]!["tragion_left"]!);
    }

    [Fact]
    public void Chin_is_the_nearer_of_pogonion_and_menton()
    {
        AddHead("a", "realistic", ["pogonion", "menton"], Vector3d.Zero, ("menton", new Vector3d(0, 0.2, 0)));

        JsonNode head = Report()["heads"]![0]!;

        Assert.Equal(20, (double)head["all"]!["max"]!, 0.01);
        Assert.Equal(1, (int)head["required"]!["count"]!);
        Assert.Equal(0, (double)head["required"]!["max"]!, 0.01);
    }

    [Fact]
    public void Groups_are_summed_up_apart_and_together()
    {
        AddHead("a", "realistic", ["subnasale"], new Vector3d(0.02, 0, 0));
        AddHead("b", "stylised", ["subnasale"], new Vector3d(0.08, 0, 0));

        JsonNode groups = Report()["groups"]!;

        Assert.Equal(2, (double)groups["realistic"]!["all"]!["mean"]!, 0.01);
        Assert.Equal(8, (double)groups["stylised"]!["required"]!["median"]!, 0.01);
        Assert.Equal(5, (double)groups["all heads"]!["all"]!["mean"]!, 0.01);
        Assert.Equal(0.5, (double)groups["all heads"]!["all"]!["shareUnder5"]!);
    }

    [Fact]
    public void Intervals_of_two_heads_reach_from_one_to_the_other_and_one_head_has_none()
    {
        AddHead("a", "scan", ["subnasale", "pronasale"], new Vector3d(0.02, 0, 0));
        AddHead("b", "scan", ["subnasale"], new Vector3d(0.12, 0, 0));
        AddHead("c", "stylised", ["subnasale"], Vector3d.Zero);

        JsonNode groups = Report()["groups"]!;

        JsonNode scans = groups["scan"]!["interval95"]!;
        Assert.Equal([2, 12], scans["median"]!.AsArray().Select(v => Math.Round((double)v!, 2)));
        Assert.Equal([0, 1], scans["shareUnder10"]!.AsArray().Select(v => (double)v!));
        Assert.Null(groups["stylised"]!["interval95"]);
    }

    [Fact]
    public void Head_that_is_not_placed_is_listed_and_counts()
    {
        AddHead("a", "realistic", ["subnasale"], Vector3d.Zero);
        AddHead("b", "realistic", ["subnasale"], Vector3d.Zero);
        File.WriteAllText(Path.Combine(_folder, "b", "head.glb"), "broken");

        Assert.Equal(0, Run("evaluate", _folder));

        string table = _output.ToString();
        Assert.Contains("2 heads, 1 not placed", table, StringComparison.Ordinal);
        Assert.Contains("head.glb", table, StringComparison.Ordinal);
        Assert.Contains("30.0", table.Split('\n').Single(l => l.StartsWith("b ", StringComparison.Ordinal)), StringComparison.Ordinal);
    }

    /// <summary>A head none of whose labels is required, so that there is no median of these.</summary>
    [Fact]
    public void Figures_that_nothing_was_labelled_for_are_dashes()
    {
        AddHead("a", "scan", ["tragion_left"], Vector3d.Zero);

        Assert.Equal(0, Run("evaluate", _folder));

        Assert.DoesNotContain("NaN", _output.ToString(), StringComparison.Ordinal);
        Assert.EndsWith(" -", _output.ToString().Split('\n').Last(l => l.StartsWith("scan ", StringComparison.Ordinal)), StringComparison.Ordinal);
    }

    [Fact]
    public void Pictures_are_written_for_each_head()
    {
        AddHead("a", "realistic", ["subnasale"], Vector3d.Zero);
        string pictures = Path.Combine(_folder, "pictures");

        Assert.Equal(0, Run("evaluate", _folder, "--pictures", pictures));

        Assert.Equal([Path.Combine(pictures, "a.png")], Directory.GetFiles(pictures));
    }

    [Fact]
    public void Folder_without_heads_and_faulty_labels_are_3()
    {
        Assert.Equal(3, Run("evaluate", _folder));
        Assert.Equal(3, Run("evaluate", Path.Combine(_folder, "nowhere")));
        Directory.CreateDirectory(Path.Combine(_folder, "a"));
        File.WriteAllText(Path.Combine(_folder, "a", LabelledHead.FileName), "{}");
        Assert.Equal(3, Run("evaluate", _folder));
        Assert.Contains(Path.Combine("a", LabelledHead.FileName), _error.ToString(), StringComparison.Ordinal);
        Assert.Contains("the key 'frame' is missing", _error.ToString(), StringComparison.Ordinal);
    }

    [Theory]
    [InlineData("1", 1, 1)]
    [InlineData("4 1 2", 2, 7 / 3.0)]
    [InlineData("1 2 3 10", 2.5, 4)]
    public void Median_and_mean_are_those_of_the_textbook(string errors, double median, double mean)
    {
        ErrorSummary summary = ErrorSummary.Of(errors.Split(' ').Select(e => double.Parse(e, CultureInfo.InvariantCulture)));

        Assert.Equal(median, summary.Median);
        Assert.Equal(mean, summary.Mean, 1e-12);
    }

    [Fact]
    public void Angle_between_directions_is_that_of_their_turn()
    {
        (double sin, double cos) = Math.SinCos(20 * Math.PI / 180);
        Assert.Equal(20, HeadScore.AngleDegrees(Vector3d.UnitY, new(0, cos, sin)), 1e-9);
        Assert.Equal(180, HeadScore.AngleDegrees(Vector3d.UnitX, -Vector3d.UnitX), 1e-9);
        Assert.Equal(0, HeadScore.AngleDegrees(Vector3d.UnitZ, Vector3d.UnitZ), 1e-9);
    }

    private JsonNode Report()
    {
        Assert.Equal(0, Run("evaluate", _folder, "--json"));
        return JsonNode.Parse(_output.ToString())!;
    }

    private int Run(params string[] arguments) => CommandLine.Run(arguments, new CommandSession(
        _output,
        _error,
        () => (scan, _, _) => SampleHead.Result(SampleGltf.Frame, scan),
        CancellationToken.None));

    // Labels are the placement's own landmarks, shifted; one the sample doesn't have lies at the eyes' midpoint.
    private void AddHead(
        string id, string group, string[] landmarks, Vector3d shift, params (string Name, Vector3d Shift)[] more)
    {
        HeadFrame frame = SampleGltf.Frame;
        var labels = new JsonObject();
        foreach (string name in landmarks)
        {
            Vector3d own = more.FirstOrDefault(m => m.Name == name).Shift;
            Vector3d p = frame.ToFile(SampleHead.Template.Landmarks.GetValueOrDefault(name) + shift + own);
            labels[name] = new JsonObject { ["position"] = Json(p), ["error"] = 0.02 };
        }

        string folder = Directory.CreateDirectory(Path.Combine(_folder, id)).FullName;
        File.WriteAllBytes(Path.Combine(folder, "head.glb"), SampleGltf.Plain());
        File.WriteAllText(Path.Combine(folder, LabelledHead.FileName), new JsonObject
        {
            ["id"] = id,
            ["group"] = group,
            ["mesh"] = "head.glb",
            ["interocular"] = frame.InterocularDistance,
            ["frame"] = new JsonObject { ["left"] = Json(frame.Left), ["up"] = Json(frame.Up), ["front"] = Json(frame.Front) },
            ["landmarks"] = labels,
        }.ToJsonString());
    }

    private static JsonArray Json(Vector3d v) => [v.X, v.Y, v.Z];
}
