using System.Diagnostics;
using System.Net;
using System.Net.Sockets;
using System.Runtime.CompilerServices;
using Xunit;

namespace AutoPlace.Tests.Cli;

/// <summary>The real executable where its files can't be written, or is interrupted: the right code, one line, nothing left behind.</summary>
public sealed class OutputProcessTests : IDisposable
{
    private const string Mount = "/usr/bin/mount";

    private readonly string _folder = Directory.CreateTempSubdirectory("autoplace-").FullName;

    public void Dispose() => Directory.Delete(_folder, recursive: true);

    [Fact]
    public void Service_over_a_database_that_is_none_is_6_and_named()
    {
        File.WriteAllText(Path.Combine(_folder, "autoplace.db"), new string('x', 4096));

        AutoplaceProcess.Outcome outcome = AutoplaceProcess.Run("serve", "--data", _folder, "--urls", "http://127.0.0.1:0");

        Assert.Equal(6, outcome.ExitCode);
        Assert.Contains("not a database", Assert.Single(outcome.ErrorLines), StringComparison.Ordinal);
        Assert.StartsWith(_folder, outcome.Error, StringComparison.Ordinal);
    }

    [Fact]
    public void Service_on_an_address_that_is_taken_is_2_and_named()
    {
        using var other = new TcpListener(IPAddress.Loopback, 0);
        other.Start();
        string address = $"http://127.0.0.1:{((IPEndPoint)other.LocalEndpoint).Port}";

        AutoplaceProcess.Outcome outcome = AutoplaceProcess.Run("serve", "--data", _folder, "--urls", address);

        Assert.Equal(2, outcome.ExitCode);
        string line = Assert.Single(outcome.ErrorLines);
        Assert.StartsWith("--urls: ", line, StringComparison.Ordinal);
        Assert.Contains(address, line, StringComparison.Ordinal);
        Assert.Contains("in use", line, StringComparison.Ordinal);
        Assert.Empty(outcome.Output);
    }

    [Fact]
    public async Task Interruption_at_work_is_130_and_leaves_nothing()
    {
        AutoplaceProcess.Outcome outcome = await Interrupted(async process =>
        {
            // The stages are announced; the second one is the search for the head.
            string? line;
            do
            {
                line = await process.StandardError.ReadLineAsync(TestContext.Current.CancellationToken);
            }
            while (line?.EndsWith("Conditioning", StringComparison.Ordinal) == false);
        });

        AssertInterrupted(outcome);
    }

    [Fact]
    public async Task Interruption_while_writing_is_130_and_leaves_nothing()
    {
        AutoplaceProcess.Outcome outcome = await Interrupted(async process =>
        {
            while (!process.HasExited && !(Directory.Exists(New) && Directory.EnumerateFileSystemEntries(New, ".*.tmp").Any()))
            {
                await Task.Delay(2, TestContext.Current.CancellationToken);
            }
        });

        AssertInterrupted(outcome);
    }

    [Fact]
    public void Folder_that_the_user_may_not_write_to_is_6()
    {
        string head = Head();
        Directory.CreateDirectory(Out);
        OtherUser.Restrict(Out, UnixFileMode.UserRead | UnixFileMode.UserExecute);

        AutoplaceProcess.Outcome outcome = OtherUser.Run(_folder, "place", head, "-o", New);

        AssertNotWritten(outcome, New, "denied");
        OtherUser.Restrict(Out, OtherUser.Owner);
        Assert.Empty(Directory.EnumerateFileSystemEntries(Out));
    }

    [Fact]
    public void Full_disk_is_6_and_leaves_nothing()
    {
        Assert.SkipUnless(File.Exists(Mount) && Environment.UserName == "root", "needs root on Linux, to mount a tiny disk");
        Directory.CreateDirectory(Out);
        Assert.SkipUnless(
            AutoplaceProcess.Run(Mount, ["-t", "tmpfs", "-o", "size=64k", "tmpfs", Out]).ExitCode == 0,
            "a tiny disk can't be mounted here");
        try
        {
            AutoplaceProcess.Outcome outcome = AutoplaceProcess.Run("place", Head(), "-o", New);

            AssertNotWritten(outcome, Path.Combine(New, "placement.json"), "No space left on device");
            Assert.Empty(Directory.EnumerateFileSystemEntries(Out));
        }
        finally
        {
            AutoplaceProcess.Run("/usr/bin/umount", [Out]);
        }
    }

    private string Out => Path.Combine(_folder, "out");

    private string Home => Path.Combine(_folder, "home");

    private string New => Path.Combine(Out, "new");

    private async Task<AutoplaceProcess.Outcome> Interrupted(Func<Process, Task> until)
    {
        Assert.SkipWhen(OperatingSystem.IsWindows(), "needs signals as Unix has them");
        Directory.CreateDirectory(Home);
        using Process process = AutoplaceProcess.Start(
            "/usr/bin/env",
            ["--unset=XDG_CACHE_HOME", $"HOME={Home}", AutoplaceProcess.Executable, "place", Head(), "-o", New, "--verbose"]);
        Task<string> output = process.StandardOutput.ReadToEndAsync(TestContext.Current.CancellationToken);
        await until(process);
        AutoplaceProcess.Run("/bin/kill", ["-INT", $"{process.Id}"]);
        return AutoplaceProcess.End(process, output, process.StandardError.ReadToEndAsync(TestContext.Current.CancellationToken));
    }

    private void AssertInterrupted(AutoplaceProcess.Outcome outcome)
    {
        Assert.Equal(130, outcome.ExitCode);
        Assert.Equal("interrupted", outcome.ErrorLines[^1]);
        Assert.Empty(outcome.Output);
        Assert.False(Directory.Exists(Out));
        Assert.Empty(Directory.EnumerateFileSystemEntries(Home));
    }

    private static void AssertNotWritten(AutoplaceProcess.Outcome outcome, string path, string reason)
    {
        Assert.Equal(6, outcome.ExitCode);
        string line = Assert.Single(outcome.ErrorLines);
        Assert.StartsWith($"{path}: can't be written: ", line, StringComparison.Ordinal);
        Assert.Contains(reason, line, StringComparison.Ordinal);
        Assert.Empty(outcome.Output);
    }

    // A head that is found, under a name that needs care.
    private string Head()
    {
        Directory.CreateDirectory(Path.Combine(_folder, "Köpfe 頭"));
        string demo = Path.Combine(Path.GetDirectoryName(ThisFile())!, "../../../training-data/demo/maren.glb");
        File.Copy(demo, Path.Combine(_folder, "a head.glb"), overwrite: true);
        return Path.Combine(_folder, "Köpfe 頭", "..", "a head.glb");
    }

    private static string ThisFile([CallerFilePath] string path = "") => path;
}
