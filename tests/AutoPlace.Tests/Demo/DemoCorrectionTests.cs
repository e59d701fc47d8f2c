using AutoPlace.Import;
using AutoPlace.TemplateBuilder.Cast.Measuring;
using Xunit;

namespace AutoPlace.Tests.Demo;

/// <summary>What the demonstration heads leave for a person to do.</summary>
public sealed class DemoCorrectionTests
{
    /// <summary>Half of the heads take at most 15 locks of 203 joints until every joint is within its tolerance; a lock never leaves its place.</summary>
    [Fact]
    public void Half_of_the_heads_are_within_tolerance_after_fifteen_locks()
    {
        using PlacementPipeline pipeline = PlacementPipeline.Open();
        var counts = new List<int>();
        foreach (TruthFile truth in DemoFolder.Truths.Values)
        {
            PlacementResult result = pipeline.Run(MeshReader.Read(truth.MeshPath), PlacementOptions.Default, TestContext.Current.CancellationToken);
            counts.Add(CorrectionMeasurement.Correct(truth.Joints, truth.InterocularDistance, result, []).Locks.Count);
        }

        counts.Sort();
        Assert.InRange((counts[(counts.Count - 1) / 2] + counts[counts.Count / 2]) / 2.0, 0, 15);
    }
}
