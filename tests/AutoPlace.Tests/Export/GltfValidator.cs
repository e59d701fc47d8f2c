using System.Text.Json;
using Xunit;

namespace AutoPlace.Tests.Export;

/// <summary>The Khronos glTF validator.</summary>
internal static class GltfValidator
{
    /// <summary>Fails on errors of the validator; returns the codes of its warnings.</summary>
    internal static string[] AssertNoErrors(byte[] glb)
    {
        using JsonDocument report = NodeScript.Run("validate.mjs", "gltf-validator", glb);
        JsonElement root = report.RootElement;
        Assert.True(root.GetProperty("numErrors").GetInt32() == 0, root.GetProperty("messages").ToString());
        return [.. root.GetProperty("messages").EnumerateArray()
            .Where(m => m.GetProperty("severity").GetInt32() == 1)
            .Select(m => m.GetProperty("code").GetString()!)
            .Distinct()];
    }
}
