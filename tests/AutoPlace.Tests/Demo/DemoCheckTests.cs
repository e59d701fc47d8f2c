using AutoPlace.Export;
using AutoPlace.Geometry;
using AutoPlace.Import;
using AutoPlace.Verification;
using Xunit;

namespace AutoPlace.Tests.Demo;

/// <summary>A placement's file judged afresh, as <c>check</c> does it.</summary>
public sealed class DemoCheckTests : IDisposable
{
    private readonly PlacementPipeline _pipeline = PlacementPipeline.Open();

    public void Dispose() => _pipeline.Dispose();

    [Theory]
    [InlineData("maren")]
    [InlineData("wick")]
    public void Placement_that_was_written_is_judged_as_when_it_was_placed(string head)
    {
        PlacementResult placed = Place(head);

        Assert.Equal(Said(placed.Findings), Said(Judged(placed, FileCoordinates.Describe(placed))));
    }

    /// <summary>Ten millimetres into the head, where the skin behind is that of the mouth or of nothing.</summary>
    [Theory]
    [InlineData("lip_corner_left")]
    [InlineData("lip_upper_contact")]
    public void Joint_of_a_lip_that_was_pushed_into_the_head_is_sunken(string joint)
    {
        PlacementResult placed = Place("maren");
        PlacementDocument written = FileCoordinates.Describe(placed);
        Vector3d into = placed.Frame.Front * -0.01;

        IReadOnlyList<Finding> found = Judged(placed, written with
        {
            Joints = [.. written.Joints.Select(j => j.Name == joint ? j with { Position = j.Position + into } : j)],
        });

        Assert.Contains(found, f => f.Check == ClearanceCheck.Name && f.Subject == joint && f.Severity == Severity.Error);
    }

    private PlacementResult Place(string head) =>
        _pipeline.Run(MeshReader.Read(DemoFolder.Truths[head].MeshPath), PlacementOptions.Default, TestContext.Current.CancellationToken);

    private static IReadOnlyList<Finding> Judged(PlacementResult placed, PlacementDocument written) => CorrectedPlacement.Judge(placed, written, placed.Template);

    private static IEnumerable<string> Said(IEnumerable<Finding> findings) =>
        findings.Select(f => $"{f.Severity} {f.Check} {f.Subject}").Order(StringComparer.Ordinal);
}
