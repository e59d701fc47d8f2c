using System.ComponentModel;
using System.Diagnostics;
using System.Runtime.CompilerServices;
using System.Text.Json;
using Xunit;

namespace AutoPlace.Tests.Export;

/// <summary>Scripts of tests/gltf, run in node on a GLB; a test that needs one is skipped where its package isn't installed.</summary>
internal static class NodeScript
{
    private static readonly string Folder =
        Path.GetFullPath(Path.Combine(Path.GetDirectoryName(ThisFile())!, "../../gltf"));

    /// <summary>Runs a script on a file and reads the JSON that it prints.</summary>
    /// <param name="script">Name of the script.</param>
    /// <param name="package">Package that it needs.</param>
    /// <param name="glb">The file.</param>
    internal static JsonDocument Run(string script, string package, byte[] glb)
    {
        Assert.SkipUnless(
            Directory.Exists(Path.Combine(Folder, "node_modules", package)),
            $"{package} isn't installed: run tools/test.sh, or npm ci in tests/gltf");
        string path = Path.Combine(Path.GetTempPath(), $"{Guid.NewGuid():N}.glb");
        File.WriteAllBytes(path, glb);
        try
        {
            return JsonDocument.Parse(Run(script, path));
        }
        finally
        {
            File.Delete(path);
        }
    }

    private static string Run(string script, string path)
    {
        var start = new ProcessStartInfo("node", [script, path])
        {
            WorkingDirectory = Folder,
            RedirectStandardOutput = true,
            RedirectStandardError = true,
        };
        try
        {
            using Process process = Process.Start(start)!;
            Task<string> errors = process.StandardError.ReadToEndAsync();
            string output = process.StandardOutput.ReadToEnd();
            process.WaitForExit();
            Assert.True(process.ExitCode == 0, errors.Result);
            return output;
        }
        catch (Win32Exception)
        {
            Assert.Skip("node isn't installed");
            throw;
        }
    }

    private static string ThisFile([CallerFilePath] string path = "") => path;
}
