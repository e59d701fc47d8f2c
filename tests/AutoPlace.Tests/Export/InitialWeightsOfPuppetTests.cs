using AutoPlace.Export;
using AutoPlace.Geometry;
using AutoPlace.Import;
using AutoPlace.Registration;
using AutoPlace.Tests.Demo;
using Xunit;

namespace AutoPlace.Tests.Export;

/// <summary>Weights on puppets with a mouth that is modelled shut: what moves apart mustn't hold on to each other, what hangs together mustn't tear.</summary>
public sealed class InitialWeightsOfPuppetTests : IDisposable
{
    private readonly PlacementPipeline _pipeline = PlacementPipeline.Open();

    [Theory]
    [InlineData("maren")]
    [InlineData("osric")]
    public void Lower_lip_goes_with_the_jaw_and_the_upper_one_stays(string name)
    {
        PlacementResult placed = _pipeline.Run(
            MeshReader.Read(DemoFolder.Truths[name].MeshPath), PlacementOptions.Default, TestContext.Current.CancellationToken);
        double[] shares = ShareOfJaw(placed);

        foreach (string lip in (ReadOnlySpan<string>)["lip_upper_contact", "lip_upper_contact_1_left", "lip_upper_contact_1_right"])
        {
            Assert.InRange(Under(lip), 0, 0.2);
            Assert.InRange(Under(lip.Replace("upper", "lower", StringComparison.Ordinal)), 0.8, 1.000001);
        }

        double Under(string joint)
        {
            SurfacePoint point = placed.Placement.Joints.Single(j => j.Joint.Name == joint).SkinPoint!.Value;
            ReadOnlySpan<int> corners = placed.HeadMesh.Indices.Slice(3 * point.Triangle, 3);
            return (point.Barycentric.X * shares[corners[0]]) + (point.Barycentric.Y * shares[corners[1]]) + (point.Barycentric.Z * shares[corners[2]]);
        }
    }

    /// <inheritdoc/>
    public void Dispose() => _pipeline.Dispose();

    // By vertex, what the jaw's hinge and all that hangs on it move.
    private static double[] ShareOfJaw(PlacementResult placed)
    {
        var below = new HashSet<string>(StringComparer.Ordinal) { "jaw_hinge" };
        foreach (JointPlacement joint in placed.Placement.Joints.Where(joint => joint.Joint.Parent is { } parent && below.Contains(parent)))
        {
            below.Add(joint.Joint.Name);
        }

        return [.. InitialWeights.Compute(placed).Select(weights => weights is null ? 0 : weights.Joints.Zip(weights.Shares)
            .Sum(share => below.Contains(placed.Placement.Joints[share.First].Joint.Name) ? share.Second : 0.0))];
    }
}
