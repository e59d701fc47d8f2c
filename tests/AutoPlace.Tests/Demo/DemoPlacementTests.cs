using AutoPlace.Import;
using AutoPlace.TemplateBuilder.Cast.Measuring;
using Xunit;

namespace AutoPlace.Tests.Demo;

/// <summary>Three of the demonstration heads against their truth: a head in centimetres with Z up, a coarse one, a whole figure.</summary>
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

    public void Dispose() => _pipeline.Dispose();
}
