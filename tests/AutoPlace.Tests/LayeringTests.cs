using System.Runtime.CompilerServices;
using System.Text.RegularExpressions;
using Xunit;

namespace AutoPlace.Tests;

/// <summary>A stage may use only the stages before it.</summary>
public sealed partial class LayeringTests
{
    private static readonly string[] StagesInDataFlowOrder = ["Geometry", "Import", "Conditioning", "Rendering", "Landmarks", "Template", "Registration", "Verification", "Export"];

    [Fact]
    public void Stage_uses_only_earlier_stages()
    {
        string root = Path.GetFullPath(Path.Combine(Path.GetDirectoryName(ThisFile())!, "../../src/AutoPlace.Core"));
        var violations =
            from stage in Enumerable.Range(0, StagesInDataFlowOrder.Length)
            from file in Directory.EnumerateFiles(Path.Combine(root, StagesInDataFlowOrder[stage]), "*.cs", SearchOption.AllDirectories)
            from Match used in StageReference().Matches(File.ReadAllText(file))
            let target = Array.IndexOf(StagesInDataFlowOrder, used.Groups[1].Value + used.Groups[2].Value)
            where target > stage
            select $"{file} uses {used.Value}";

        Assert.Empty(violations);
        Assert.Equal(
            StagesInDataFlowOrder.Order(StringComparer.Ordinal),
            Directory.EnumerateDirectories(root).Select(d => Path.GetFileName(d)!).Order(StringComparer.Ordinal));
    }

    [GeneratedRegex(@"(?<![\w.])(?:global::)?(?:AutoPlace\.)?(\w+)\.(?=[A-Z])|using AutoPlace\.(\w+);")]
    private static partial Regex StageReference();

    private static string ThisFile([CallerFilePath] string path = "") => path;
}
