using AutoPlace.Import;
using AutoPlace.TemplateBuilder.Cast.Measuring;
using Xunit;

namespace AutoPlace.Tests.Demo;

/// <summary>Some of the demonstration heads against their truth: a head in centimetres with Z up, a coarse one, a whole figure, an asymmetric one.</summary>
public sealed class DemoPlacementTests : IDisposable
{
    private readonly PlacementPipeline _pipeline = PlacementPipeline.Open();

    [Theory]
    [InlineData("tibb")]
    [InlineData("brannoc")]
    [InlineData("senna")]
    public void Placement_comes_within_four_percent_of_the_truth(string name)
    {
        TruthFile truth = DemoFolder.Truths[name];

        PlacementResult result = _pipeline.Run(MeshReader.Read(truth.MeshPath), PlacementOptions.Default, TestContext.Current.CancellationToken);

        HeadMeasure measure = HeadMeasure.Of(truth, result);
        Assert.InRange(measure.Mean, 0, 4);
        Assert.InRange(measure.EyeCentre, 0, 1.5);
        Assert.Equal(truth.Joints.Count, measure.Errors.Count);
    }

    /// <summary>What is elsewhere on one side of this head, by about a tenth of the interocular distance, comes back within a fiftieth.</summary>
    [Fact]
    public void Known_offsets_of_one_side_come_back_within_two_percent()
    {
        TruthFile truth = DemoFolder.Truths["lysk"];

        PlacementResult result = _pipeline.Run(MeshReader.Read(truth.MeshPath), PlacementOptions.Default, TestContext.Current.CancellationToken);

        HeadMeasure measure = HeadMeasure.Of(truth, result);
        Assert.Equal(4, measure.Offsets.Count);
        Assert.All(measure.Offsets, offset => Assert.InRange(offset.Error, 0, 2));
    }

    public void Dispose() => _pipeline.Dispose();
}
