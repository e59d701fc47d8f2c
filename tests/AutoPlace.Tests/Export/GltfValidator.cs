using System.ComponentModel;
using System.Diagnostics;
using System.Runtime.CompilerServices;
using System.Text.Json;
using Xunit;

namespace AutoPlace.Tests.Export;

/// <summary>The Khronos glTF validator, run in node; a test that needs it is skipped where it isn't installed.</summary>
internal static class GltfValidator
{
    private static readonly string Folder =
        Path.GetFullPath(Path.Combine(Path.GetDirectoryName(ThisFile())!, "../../gltf"));

    /// <summary>Fails on errors of the validator; returns the codes of its warnings.</summary>
    internal static string[] AssertNoErrors(byte[] glb)
    {
        string path = Path.Combine(Path.GetTempPath(), $"{Guid.NewGuid():N}.glb");
        File.WriteAllBytes(path, glb);
        try
        {
            using JsonDocument report = JsonDocument.Parse(Run(path));
            JsonElement root = report.RootElement;
            Assert.True(root.GetProperty("numErrors").GetInt32() == 0, root.GetProperty("messages").ToString());
            return [.. root.GetProperty("messages").EnumerateArray()
                .Where(m => m.GetProperty("severity").GetInt32() == 1)
                .Select(m => m.GetProperty("code").GetString()!)
                .Distinct()];
        }
        finally
        {
            File.Delete(path);
        }
    }

    private static string Run(string path)
    {
        Assert.SkipUnless(
            Directory.Exists(Path.Combine(Folder, "node_modules", "gltf-validator")),
            "the glTF validator isn't installed: run tools/test.sh, or npm ci in tests/gltf");
        var start = new ProcessStartInfo("node", ["validate.mjs", path])
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
