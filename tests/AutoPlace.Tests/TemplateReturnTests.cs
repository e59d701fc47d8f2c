using AutoPlace.Template;
using Xunit;

namespace AutoPlace.Tests;

/// <summary>The built-in template on its own head, by the whole path.</summary>
public sealed class TemplateReturnTests : IDisposable
{
    private static readonly TemplateHead Template = BuiltInTemplate.Load();
    private readonly PlacementPipeline _pipeline = PlacementPipeline.Open();

    [Fact]
    public void Every_joint_comes_back()
    {
        IReadOnlyList<JointReturn> joints = Place(PlacementOptions.Default);

        Assert.Equal(Template.Lattice.Joints.Count, joints.Count);
        Assert.All(joints, joint => Assert.True(TemplateReturn.IsBack(joint), $"{joint}"));
    }

    /// <summary>A head that is the atlas itself comes out better than any other: half of what the demonstration heads are allowed.</summary>
    [Fact]
    public void Looking_alone_comes_near_and_is_told_from_carrying()
    {
        IReadOnlyList<JointReturn> joints = Place(PlacementOptions.Default with { CarriesTopology = false });

        Assert.InRange(joints.Average(joint => joint.Offset), 0.001, 0.02);
        Assert.Contains(joints, joint => !TemplateReturn.IsBack(joint));
    }

    public void Dispose() => _pipeline.Dispose();

    private IReadOnlyList<JointReturn> Place(PlacementOptions options) =>
        TemplateReturn.Of(Template, _pipeline.Run(TemplateScan.Of(Template), options, TestContext.Current.CancellationToken));
}
