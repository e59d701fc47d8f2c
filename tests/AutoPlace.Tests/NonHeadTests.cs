using AutoPlace.Geometry;
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

    /// <summary>Who says how a head is turned is believed that there is one, but not that a cube is one.</summary>
    [Theory]
    [InlineData("cube")]
    [InlineData("sphere")]
    [InlineData("cone")]
    public void Primitives_are_no_heads_where_axes_are_told_either(string name) => AssertNoHead(
        TestMeshes.Read(MeshText.Obj(Primitives.Of(name)), $"{name}.obj"), PlacementOptions.Default with { Up = Vector3d.UnitY, Front = Vector3d.UnitZ });

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
            Assert.StartsWith("a plane.obj: no head found: ", outcome.ErrorLines[0], StringComparison.Ordinal);
            Assert.StartsWith("If there is one, ", Assert.Single(outcome.ErrorLines[1..]), StringComparison.Ordinal);
            Assert.Empty(outcome.Output);
            Assert.Equal([path], Directory.GetFileSystemEntries(folder));
        }
        finally
        {
            Directory.Delete(folder, recursive: true);
        }
    }

    private void AssertNoHead(HeadScan scan, PlacementOptions? options = null) =>
        Assert.Throws<HeadNotFoundException>(() => _pipeline.Run(scan, options ?? PlacementOptions.Default, TestContext.Current.CancellationToken));
}
