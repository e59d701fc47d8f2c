using AutoPlace.Geometry;
using AutoPlace.Import;
using AutoPlace.Registration;
using AutoPlace.Template;
using AutoPlace.TemplateBuilder.Cast.Measuring;
using AutoPlace.Tests.Heads;
using Xunit;

namespace AutoPlace.Tests.Registration;

public sealed class LoopAlignmentTests : IDisposable
{
    private static readonly TemplateHead Template = BuiltInTemplate.Load();

    private readonly PlacementPipeline _pipeline = PlacementPipeline.Open();

    public static TheoryData<string> Flows => [.. ForeignFlow.Names];

    public void Dispose() => _pipeline.Dispose();

    [Fact]
    public void Rows_round_eyes_and_mouth_lie_on_loops_of_the_template()
    {
        IReadOnlyList<RowLoop> loops = new PreparedTemplate(Template).RowLoops;

        Assert.Equal(
            ["lid_upper_margin_left+lid_lower_margin_left", "lid_upper_margin_right+lid_lower_margin_right", "lip_upper_border+lip_lower_border", "lip_upper_contact+lip_lower_contact"],
            loops.Select(loop => string.Join('+', loop.Rows)).Order(StringComparer.Ordinal));

        // Both canthi, both commissures; the border ends beside the commissure.
        Assert.Equal([12, 12, 14, 16], loops.Select(loop => loop.Joints.Count).Order());
    }

    [Fact]
    public void Template_of_triangles_has_no_loops_to_follow()
    {
        PolygonMesh mesh = Shapes.Polygons(Template.Mesh.Triangulate(out int[] faces));

        Assert.Empty(new PreparedTemplate(Template with { Mesh = mesh, FaceParts = [.. faces.Select(f => Template.FaceParts[f])] }).RowLoops);
    }

    /// <summary>Issue of a rigger: nine in ten joints of lids and lips within a quarter of an edge of the loop that models them, others close beside it.</summary>
    [Theory]
    [MemberData(nameof(Flows))]
    public void Lids_and_lips_lie_on_the_loops_that_model_them(string name)
    {
        (HeadScan scan, IReadOnlyList<(Vector3d[] Line, string[] Rows)> loops) = ForeignFlow.Of(Template, name);

        IReadOnlyList<(string Rows, int On, int Of)> counts = LoopMeasurement.Measure(
            _pipeline.Run(scan, PlacementOptions.Default, TestContext.Current.CancellationToken), loops);

        Assert.Equal(4, counts.Count);
        Assert.True(counts.Sum(loop => loop.On) >= 0.9 * counts.Sum(loop => loop.Of), string.Join(", ", counts));
    }

    [Fact]
    public void Loop_that_the_head_lacks_moves_nothing()
    {
        RowLoop expected = new PreparedTemplate(Template).RowLoops[0];
        JointLattice lattice = Template.Lattice;
        var skin = lattice.Joints.ToDictionary(joint => joint.Name, joint => new SkinTarget(joint.SkinPoint ?? joint.Position, Vector3d.UnitZ));

        Assert.Empty(LoopAlignment.Lay(new FollowedLoop(expected, []), lattice, name => skin[name], name => skin[name]));
    }
}
