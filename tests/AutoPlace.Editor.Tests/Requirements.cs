using System.ComponentModel;
using System.Diagnostics;
using System.Runtime.CompilerServices;
using Xunit;

namespace AutoPlace.Editor.Tests;

/// <summary>What these tests look for on the machine; they are skipped where it's missing.</summary>
internal static class Requirements
{
    /// <summary>Folder of the page's sources, where its packages are installed when it's built.</summary>
    internal static readonly string EditorFolder = Path.GetFullPath(Path.Combine(Path.GetDirectoryName(ThisFile())!, "../../src/AutoPlace.Editor"));

    /// <summary>Folder of the demonstration heads.</summary>
    internal static readonly string DemoFolder = Path.GetFullPath(Path.Combine(EditorFolder, "../../training-data/demo"));

    /// <summary>Folder of the program: its own output, where a release is compiled ahead of time, else the copy beside the tests.</summary>
    internal static readonly string ProgramFolder = FindProgram();

    private static readonly string[] Browsers = ["/usr/bin/chromium", "/usr/bin/chromium-browser"];

    /// <summary>The browser: the one that the variable AUTOPLACE_CHROMIUM names, else Debian's.</summary>
    internal static string Chromium { get; } =
        Environment.GetEnvironmentVariable("AUTOPLACE_CHROMIUM") ?? Browsers.FirstOrDefault(File.Exists) ?? "";

    /// <summary>Says why browser tests can't run here, or null.</summary>
    internal static string? Missing =>
        !File.Exists(Chromium) ? "Chromium isn't installed: run tools/test.sh as root on Debian, or name it in AUTOPLACE_CHROMIUM"
        : !File.Exists(Path.Combine(ProgramFolder, "editor", "index.html")) ? "the editor isn't built: it needs Node 20.19 or newer when the service is built"
        : null;

    /// <summary>Runs a program to its end; null where it isn't installed.</summary>
    internal static (int ExitCode, string Output)? Run(string program, string[] arguments, string folder)
    {
        var start = new ProcessStartInfo(program, arguments) { WorkingDirectory = folder, RedirectStandardOutput = true, RedirectStandardError = true };
        try
        {
            using Process process = Process.Start(start)!;
            Task<string> errors = process.StandardError.ReadToEndAsync(TestContext.Current.CancellationToken);
            string output = process.StandardOutput.ReadToEnd();
            process.WaitForExit();
            return (process.ExitCode, output + errors.Result);
        }
        catch (Win32Exception)
        {
            return null;
        }
    }

    private static string FindProgram()
    {
        string own = Path.TrimEndingDirectorySeparator(AppContext.BaseDirectory);
        string output = Path.GetFullPath(Path.Combine(own, "../../AutoPlace.Cli", Path.GetFileName(own)));
        return File.Exists(Path.Combine(output, "autoplace.dll")) ? output : own;
    }

    private static string ThisFile([CallerFilePath] string path = "") => path;
}
