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

    /// <summary>Both contact rows as one closed row: it lies on the same loop, and its joints are laid on that of a head as those of the two are.</summary>
    [Fact]
    public void Closed_row_lies_on_a_loop_and_is_laid_on_it()
    {
        JointSequence upper = Template.Lattice.Rows.Single(row => row.Name == "lip_upper_contact"), lower = Template.Lattice.Rows.Single(row => row.Name == "lip_lower_contact");
        var ring = new JointSequence("lip_contact", [.. upper.Joints, .. lower.Joints.Except(upper.Joints).Reverse()], Closed: true);
        TemplateHead closed = Template with { Lattice = Template.Lattice with { Rows = [.. Template.Lattice.Rows.Where(row => row != upper && row != lower), ring] } };
        RowLoop two = new PreparedTemplate(Template).RowLoops.Single(loop => loop.Rows.Contains(upper.Name));

        RowLoop one = new PreparedTemplate(closed).RowLoops.Single(loop => loop.Points.SequenceEqual(two.Points));
        PlacementResult placed = _pipeline.Run(
            ForeignFlow.Of(Template, ForeignFlow.Names[0]).Scan, PlacementOptions.Default with { Template = closed }, TestContext.Current.CancellationToken);

        Assert.Equal([ring.Name], one.Rows);
        Assert.Equal(two.Joints.Order(StringComparer.Ordinal), one.Joints.Order(StringComparer.Ordinal));
        RowsOnLoop laid = placed.Placement.Loops.Single(rows => rows.Rows.Contains(ring.Name));
        Assert.InRange(laid.Likelihood, 0.9, 1);
        double[] beside = [.. placed.Placement.Joints.Where(joint => laid.Joints.Contains(joint.Joint.Name)).Select(Beside)];
        Assert.Equal(laid.Joints.Count, beside.Length);
        Assert.InRange(beside.Count(edges => edges <= 0.25), 0.9 * beside.Length, beside.Length);

        double Beside(JointPlacement joint)
        {
            Vector3d foot = placed.HeadMesh.Position(joint.SkinPoint!.Value);
            LinePlace place = laid.Line!.Nearest(foot);
            return Vector3d.Distance(place.Position, foot) / place.EdgeLength;
        }
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
