using AutoPlace.Import;
using AutoPlace.Tests.Cli;
using AutoPlace.Tests.Heads;
using AutoPlace.Tests.Import;
using Xunit;

namespace AutoPlace.Tests;

/// <summary>What isn't a head isn't taken for one. tools/check-non-heads.sh tries many more with the real executable.</summary>
public sealed class NonHeadTests : IDisposable
{
    private readonly PlacementPipeline _pipeline = PlacementPipeline.Open();

    public void Dispose() => _pipeline.Dispose();

    [Theory]
    [InlineData("cube")]
    [InlineData("sphere")]
    [InlineData("torus")]
    [InlineData("cylinder")]
    [InlineData("plane")]
    [InlineData("cone")]
    public void Primitives_are_no_heads(string name) => AssertNoHead(TestMeshes.Read(MeshText.Obj(Primitives.Of(name)), $"{name}.obj"));

    /// <summary>Debian libcgal-demo 5.5.1-2.</summary>
    [Fact]
    public void Bones_are_no_head() => AssertNoHead(RegistryHeadsTests.Read("non-heads/bones.off"));

    [Fact]
    public void Executable_says_so_with_4_and_writes_nothing()
    {
        string folder = Directory.CreateTempSubdirectory("autoplace-").FullName;
        try
        {
            string path = Path.Combine(folder, "a plane.obj");
            File.WriteAllBytes(path, MeshText.Obj(Primitives.Of("plane")));

            AutoplaceProcess.Outcome outcome = AutoplaceProcess.Run(["place", path], folder);

            Assert.Equal(4, outcome.ExitCode);
            Assert.StartsWith("a plane.obj: no head found: ", outcome.ErrorLines.First(), StringComparison.Ordinal);
            Assert.Empty(outcome.Output);
            Assert.Equal([path], Directory.GetFileSystemEntries(folder));
        }
        finally
        {
            Directory.Delete(folder, recursive: true);
        }
    }

    private void AssertNoHead(HeadScan scan) =>
        Assert.Throws<HeadNotFoundException>(() => _pipeline.Run(scan, PlacementOptions.Default, TestContext.Current.CancellationToken));
}
