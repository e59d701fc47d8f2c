using System.Text.Json.Nodes;
using AutoPlace.Tests.Demo;
using Xunit;

namespace AutoPlace.Tests.Cli;

/// <summary>The executable with <c>--keep</c>, on a demonstration head.</summary>
public sealed class KeepProcessTests : IDisposable
{
    private readonly string _folder = Directory.CreateTempSubdirectory("autoplace-").FullName;
    private readonly string _head = DemoFolder.Truths["tibb"].MeshPath;

    public void Dispose() => Directory.Delete(_folder, recursive: true);

    /// <summary>A joint moved in a placement.json becomes a correction, and the correction stays to the last digit.</summary>
    [Fact]
    public void Placement_corrected_elsewhere_becomes_corrections_that_are_kept()
    {
        Assert.Equal(0, Place("first"));
        JsonNode placement = JsonNode.Parse(File.ReadAllText(In("first", "placement.json")))!;
        JsonNode joint = placement["joints"]!.AsArray().Single(j => (string)j!["name"]! == "brow_3_left")!;
        double moved = (double)joint["position"]![1]! * 1.002;
        joint["position"]![1] = moved;
        File.WriteAllText(In("first", "elsewhere.json"), placement.ToJsonString());

        Assert.Equal(0, Place("second", "--keep", In("first", "elsewhere.json")));
        Assert.Equal(0, Place("third", "--keep", In("second", "corrections.json")));

        Assert.False(File.Exists(In("first", "corrections.json")));
        string corrections = File.ReadAllText(In("second", "corrections.json"));
        JsonNode correction = Assert.Single(JsonNode.Parse(corrections)!["joints"]!.AsArray())!;
        Assert.Equal("brow_3_left", (string)correction["name"]!);
        Assert.Equal(moved, (double)correction["position"]![1]!, 1e-6 * moved);
        Assert.Equal(corrections, File.ReadAllText(In("third", "corrections.json")));
        foreach (string folder in (string[])["second", "third"])
        {
            JsonNode there = JsonNode.Parse(File.ReadAllText(In(folder, "placement.json")))!["joints"]!.AsArray().Single(j => (string)j!["name"]! == "brow_3_left")!;
            Assert.True(JsonNode.DeepEquals(correction["position"], there["position"]));
            Assert.True((bool)there["lock"]!["position"]!);
        }
    }

    [Fact]
    public void File_that_holds_no_corrections_is_3_and_several_heads_are_wrong_usage()
    {
        string file = Path.Combine(_folder, "none.json");
        File.WriteAllText(file, "{}");

        Assert.Equal(3, Place("first", "--keep", file));
        Assert.Equal(3, Place("first", "--keep", file + ".missing"));
        Assert.Equal(2, AutoplaceProcess.Run("place", _head, _head, "--keep", file).ExitCode);
        Assert.False(Directory.Exists(Path.Combine(_folder, "first")));
    }

    private int Place(string folder, params string[] more) => AutoplaceProcess.Run(["place", _head, "-o", Path.Combine(_folder, folder), .. more]).ExitCode;

    private string In(string folder, string file) => Path.Combine(_folder, folder, file);
}
