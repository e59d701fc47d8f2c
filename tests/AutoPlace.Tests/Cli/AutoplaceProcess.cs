using System.Diagnostics;

namespace AutoPlace.Tests.Cli;

/// <summary>The real executable, run as a process of its own.</summary>
internal static class AutoplaceProcess
{
    /// <summary>The executable, copied beside the tests by the build.</summary>
    internal static readonly string Executable =
        Path.Combine(AppContext.BaseDirectory, OperatingSystem.IsWindows() ? "autoplace.exe" : "autoplace");

    /// <summary>More than this is taken for a hang; a placement takes seconds, on a busy machine a minute.</summary>
    internal static readonly TimeSpan Patience = TimeSpan.FromMinutes(5);

    /// <summary>Runs it to its end.</summary>
    internal static Outcome Run(params string[] arguments) => Run(Executable, arguments);

    /// <summary>Runs it to its end in a folder.</summary>
    internal static Outcome Run(string[] arguments, string workingFolder) => Run(Executable, arguments, workingFolder);

    /// <summary>Runs it to its end with a variable of the environment set.</summary>
    internal static Outcome Run(string[] arguments, (string Name, string Value) variable) => Run(Executable, arguments, variable: variable);

    /// <summary>Runs a program that runs it, to its end.</summary>
    internal static Outcome Run(
        string program, string[] arguments, string? workingFolder = null, (string Name, string Value)? variable = null)
    {
        using Process process = Start(program, arguments, workingFolder, variable);
        Task<string> error = process.StandardError.ReadToEndAsync();
        Task<string> output = process.StandardOutput.ReadToEndAsync();
        return End(process, output, error);
    }

    /// <summary>Starts it.</summary>
    internal static Process Start(
        string program, string[] arguments, string? workingFolder = null, (string Name, string Value)? variable = null)
    {
        var start = new ProcessStartInfo(program, arguments)
        {
            RedirectStandardOutput = true,
            RedirectStandardError = true,
            WorkingDirectory = workingFolder ?? Path.GetTempPath(),
        };
        if (variable is { } set)
        {
            start.Environment[set.Name] = set.Value;
        }

        return Process.Start(start)!;
    }

    /// <summary>Waits for its end; a process that hangs is ended.</summary>
    internal static Outcome End(Process process, Task<string> output, Task<string> error)
    {
        if (!process.WaitForExit(Patience))
        {
            process.Kill(entireProcessTree: true);
            throw new TimeoutException($"still running after {Patience}");
        }

        return new Outcome(process.ExitCode, output.Result, error.Result);
    }

    /// <summary>How a call ended.</summary>
    internal sealed record Outcome(int ExitCode, string Output, string Error)
    {
        /// <summary>Lines of the error stream.</summary>
        internal string[] ErrorLines => Error.Split('\n', StringSplitOptions.RemoveEmptyEntries);
    }
}
