using System.Diagnostics;
using System.Globalization;
using AutoPlace.Tests.Demo;
using Xunit;

namespace AutoPlace.Tests.Cli;

/// <summary>The real executable over several heads, killed amid them.</summary>
public sealed class BulkProcessTests : IDisposable
{
    private const int Heads = 5;

    private readonly string _folder = Directory.CreateTempSubdirectory("autoplace-").FullName;

    public void Dispose() => Directory.Delete(_folder, recursive: true);

    [Fact]
    public void Run_that_was_killed_goes_on_where_it_was()
    {
        string heads = Path.Combine(_folder, "heads"), result = Path.Combine(_folder, "result");
        Directory.CreateDirectory(heads);
        string mesh = File.ReadAllText(DemoFolder.Truths["brannoc"].MeshPath);
        for (int i = 0; i < Heads; i++)
        {
            File.WriteAllText(Path.Combine(heads, $"{(char)('a' + i)}.obj"), string.Create(CultureInfo.InvariantCulture, $"# {i}\n{mesh}"));
        }

        using (Process killed = AutoplaceProcess.Start(AutoplaceProcess.Executable, ["bulk", heads, "-o", result]))
        {
            Task<string> output = killed.StandardOutput.ReadToEndAsync(TestContext.Current.CancellationToken);
            string? line;
            do
            {
                line = killed.StandardError.ReadLine();
            }
            while (line is not null && !line.StartsWith("2 of ", StringComparison.Ordinal));

            Assert.Contains("left", line, StringComparison.Ordinal);
            killed.Kill();
            killed.WaitForExit();
        }

        Dictionary<string, DateTime> done = Done(result);
        Assert.InRange(done.Count, 2, Heads - 1);
        AutoplaceProcess.Outcome resumed = AutoplaceProcess.Run("bulk", heads, "-o", result, "--resume");

        Assert.Contains($"{done.Count} of {Heads} heads are done already", resumed.Error, StringComparison.Ordinal);
        Assert.Equal(Heads - done.Count, resumed.ErrorLines.Count(line => line.Contains($" of {Heads - done.Count}  ", StringComparison.Ordinal)));
        Dictionary<string, DateTime> all = Done(result);
        Assert.Equal(Heads, all.Count);
        Assert.All(done, head => Assert.Equal(head.Value, all[head.Key]));
        Assert.Equal(["a", "b", "c", "d", "e"], File.ReadAllLines(Path.Combine(result, "report.csv")).Skip(1).Select(line => line.Split(',')[0]).Order(StringComparer.Ordinal));
        Assert.DoesNotContain(Directory.EnumerateFileSystemEntries(result, ".*", SearchOption.AllDirectories), path => path.EndsWith(".tmp", StringComparison.Ordinal));
    }

    private static Dictionary<string, DateTime> Done(string result) =>
        Directory.EnumerateFiles(result, "outcome.json", SearchOption.AllDirectories).ToDictionary(path => path, File.GetLastWriteTimeUtc);
}
