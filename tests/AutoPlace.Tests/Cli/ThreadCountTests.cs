using System.Text.Json.Nodes;
using AutoPlace.Tests.Demo;
using Xunit;

namespace AutoPlace.Tests.Cli;

/// <summary>The command as a process, with another number of processors each time.</summary>
public sealed class ThreadCountTests : IDisposable
{
    private readonly string _folder = Directory.CreateTempSubdirectory("autoplace-").FullName;

    public void Dispose() => Directory.Delete(_folder, recursive: true);

    [Fact]
    public void Placement_is_bitwise_the_same_for_any_number_of_threads()
    {
        string one = Place(1), two = Place(2), five = Place(5);
        foreach (string file in (string[])["joints.csv", "placement.glb", "lattice.png"])
        {
            byte[] expected = File.ReadAllBytes(Path.Combine(one, file));
            Assert.Equal(expected, File.ReadAllBytes(Path.Combine(two, file)));
            Assert.Equal(expected, File.ReadAllBytes(Path.Combine(five, file)));
        }

        Assert.Equal(Untimed(one), Untimed(two));
        Assert.Equal(Untimed(one), Untimed(five));
    }

    private string Place(int processors)
    {
        string folder = Path.Combine(_folder, $"{processors}");
        AutoplaceProcess.Outcome outcome = AutoplaceProcess.Run(
            ["place", DemoFolder.Truths["maren"].MeshPath, "-o", folder], ("DOTNET_PROCESSOR_COUNT", $"{processors:X}"));
        Assert.Equal(0, outcome.ExitCode);
        return folder;
    }

    private static string Untimed(string folder)
    {
        JsonNode placement = JsonNode.Parse(File.ReadAllText(Path.Combine(folder, "placement.json")))!;
        placement["timings"] = null;
        return placement.ToJsonString();
    }
}
