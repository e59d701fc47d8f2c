using System.Runtime.InteropServices;
using Microsoft.ML.OnnxRuntime;

namespace AutoPlace.Landmarks;

/// <summary>
/// Keeps the network's runtime to itself. Its Unix builds would write an identifier of the machine
/// into the user's cache folder and send figures about models and runs to its maker; ORT_DISABLE_TELEMETRY, read once as
/// it starts, stops all of that (onnxruntime, pull request 27379).
/// </summary>
internal static class RuntimeTelemetry
{
    private const string Variable = "ORT_DISABLE_TELEMETRY";

    /// <summary>Turns it off; to be called before anything else of the runtime.</summary>
    internal static void TurnOff()
    {
        Environment.SetEnvironmentVariable(Variable, "1");
        if (!OperatingSystem.IsWindows() && SetEnvironment(Variable, "1", 1) != 0)
        {
            throw new InvalidOperationException($"{Variable} can't be set.");
        }

        // Windows builds trace events instead, which have a switch of their own.
        OrtEnv.Instance().DisableTelemetryEvents();
    }

    // On Unix the framework's own call changes a copy that native code doesn't see.
    [DllImport("libc", EntryPoint = "setenv", CharSet = CharSet.Ansi, BestFitMapping = false, ThrowOnUnmappableChar = true)]
    [DefaultDllImportSearchPaths(DllImportSearchPath.SafeDirectories)]
    private static extern int SetEnvironment(string name, string value, int overwrite);
}
