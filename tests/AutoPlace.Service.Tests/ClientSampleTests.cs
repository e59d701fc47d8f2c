using System.Diagnostics;
using AutoPlace.Sample;
using Xunit;
using static AutoPlace.Service.Tests.RunningService;

namespace AutoPlace.Service.Tests;

/// <summary>The samples of the README do what they say.</summary>
public sealed class ClientSampleTests(PlacedHead placed) : IClassFixture<PlacedHead>
{
    private static readonly string Head = Path.Combine(DemoFile.Repository(), "training-data", "demo", SmallHead);

    [Fact]
    public async Task Sample_in_CSharp_gives_the_joints() => AssertTable(await PlaceHead.RunAsync(placed.Service.Client, Head, Cancellation));

    [Fact]
    public async Task Sample_in_shell_gives_the_joints()
    {
        Assert.SkipWhen(OperatingSystem.IsWindows() || !File.Exists("/usr/bin/curl"), "needs bash and curl");
        var start = new ProcessStartInfo("bash", [Path.Combine(DemoFile.Repository(), "tools/client-sample/place.sh"), placed.Service.Client.BaseAddress!.OriginalString.TrimEnd('/'), Head])
        {
            RedirectStandardOutput = true,
            RedirectStandardError = true,
        };
        using Process shell = Process.Start(start)!;
        Task<string> error = shell.StandardError.ReadToEndAsync(Cancellation);
        string table = await shell.StandardOutput.ReadToEndAsync(Cancellation);
        await shell.WaitForExitAsync(Cancellation);
        Assert.True(shell.ExitCode == 0, await error);
        AssertTable(table);
    }

    private static void AssertTable(string table)
    {
        string[] lines = table.Split('\n', StringSplitOptions.RemoveEmptyEntries);
        Assert.StartsWith("name,parent,", lines[0], StringComparison.Ordinal);
        Assert.Equal(204, lines.Length); // the full built-in lattice has 203 joints
    }
}
