using Xunit;

namespace AutoPlace.Editor.Tests;

public class TypeScriptTests
{
    [Fact]
    public void Model_of_the_page_passes_its_own_tests()
    {
        Assert.SkipUnless(Directory.Exists(Path.Combine(Requirements.EditorFolder, "node_modules", "typescript")), "the editor's packages aren't installed: npm ci in src/AutoPlace.Editor");
        (int ExitCode, string Output)? run = Requirements.Run("npm", ["test", "--silent"], Requirements.EditorFolder);
        Assert.SkipWhen(run is null, "npm isn't installed");
        Assert.True(run!.Value.ExitCode == 0, run.Value.Output);
        Assert.Matches(@"# pass [1-9]\d", run.Value.Output);
        Assert.Contains("# fail 0", run.Value.Output, StringComparison.Ordinal);
    }
}
