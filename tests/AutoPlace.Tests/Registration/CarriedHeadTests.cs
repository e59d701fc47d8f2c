using AutoPlace.Geometry;
using AutoPlace.Import;
using AutoPlace.Registration;
using AutoPlace.Template;
using AutoPlace.TemplateBuilder.Cast;
using Xunit;

namespace AutoPlace.Tests.Registration;

/// <summary>Heads with the built-in template's own topology.</summary>
public sealed class CarriedHeadTests
{
    private static readonly TemplateHead Template = BuiltInTemplate.Load();
    private static readonly HeadScan Own = TemplateScan.Of(Template);

    /// <summary>Turned, scaled and moved, everything is; single-precision positions leave a hundred-thousandth.</summary>
    [Fact]
    public void Moved_head_carries_every_joint_and_rotation_with_it()
    {
        var pose = new SimilarityTransform(6.3, new Rotation3d(0.3, -0.5, 0.2, 0.7).Normalized().ToMatrix(), new Vector3d(12, -40, 3));

        (LatticePlacement placement, CarriedHead head) = Carry(ScanVariants.Mapped(Own, pose.Apply));

        foreach (JointPlacement joint in placement.Joints)
        {
            Assert.True(Vector3d.Distance(head.Frame.ToFile(joint.Position), pose.Apply(joint.Joint.Position)) < 1e-5 * pose.Scale, joint.Joint.Name);
            Assert.True(Rotation3d.AngleDegrees(joint.Rotation, joint.Joint.Rotation) < 0.02, joint.Joint.Name);
            Assert.Equal(joint.Joint.Lift, joint.Lift, 1e-5);
        }
    }

    /// <summary>
    /// The cast's truths carry the lattice by the change of space itself, with no triangles. A triangle's own change is
    /// that of its middle: on the skin half a hundredth is left. What lies inside the head isn't fixed by its skin.
    /// </summary>
    [Theory]
    [InlineData("maren")]
    [InlineData("tibb")]
    [InlineData("osric")]
    [InlineData("lysk")]
    public void Head_in_another_shape_carries_joints_as_the_change_of_space_does(string name)
    {
        Puppet puppet = LanternMarket.Cast.Single(puppet => puppet.Name == name);
        PuppetShape shape = DemoCast.ShapeOf(Template, puppet);
        Vector3d[] truth = TrueLattice.Joints(Template, shape);

        (LatticePlacement placement, CarriedHead head) = Carry(ScanVariants.Mapped(Own, shape.Apply));

        double[] errors = [.. placement.Joints.Select((joint, i) => Vector3d.Distance(head.Frame.ToFile(joint.Position), truth[i]) / head.Frame.InterocularDistance)];
        var skin = errors.Where((_, i) => placement.Joints[i].Joint.Ride == Ride.Skin).ToList();
        Assert.InRange(skin.Max(), 0, 0.005);
        Assert.InRange(errors.Average(), 0, 0.01);
    }

    /// <summary>An open jaw: rows of teeth are hard, and one doesn't take the other along.</summary>
    [Fact]
    public void Lower_teeth_move_alone()
    {
        HashSet<int> lower = [.. Enumerable.Range(0, Template.Mesh.FaceCount).Where(f => Template.FaceParts[f] == "teeth_lower").SelectMany(f => Template.Mesh.Face(f).ToArray())];
        (double sine, double cosine) = Math.SinCos(15 * Math.PI / 180);
        var hinge = new Vector3d(0, -0.38, -0.9);
        var jaw = new SimilarityTransform(1, Matrix3d.FromColumns(Vector3d.UnitX, new(0, cosine, sine), new(0, -sine, cosine)), Vector3d.Zero);
        jaw = new SimilarityTransform(1, jaw.Rotation, hinge - jaw.Apply(hinge));
        var positions = Own.Mesh.Positions.ToArray();
        foreach (int v in lower)
        {
            positions[v] = (System.Numerics.Vector3)jaw.Apply((Vector3d)positions[v]);
        }

        (LatticePlacement placement, CarriedHead head) = Carry(ScanVariants.With(Own, Own.Mesh.WithPositions(positions), Own.FaceParts));

        foreach (JointPlacement joint in placement.Joints.Where(joint => joint.Joint.Ride is Ride.TeethUpper or Ride.TeethLower))
        {
            Vector3d expected = joint.Joint.Ride == Ride.TeethLower ? jaw.Apply(joint.Joint.Position) : joint.Joint.Position;
            Assert.True(Vector3d.Distance(head.Frame.ToFile(joint.Position), expected) < 1e-5, joint.Joint.Name);
        }
    }

    [Fact]
    public void Mesh_in_another_order_or_mirrored_is_not_taken_for_the_template()
    {
        Assert.NotNull(CarriedHead.Recognise(Template, Own));
        Assert.Null(CarriedHead.Recognise(Template, ScanVariants.Shuffled(Own, 1)));
        Assert.Null(CarriedHead.Recognise(Template, ScanVariants.Mapped(Own, p => p with { X = -p.X }, mirrors: true)));
        Assert.Null(CarriedHead.Recognise(Template, ScanVariants.Mapped(Own, p => p with { Y = p.Z, Z = p.Y })));
    }

    /// <summary>Vertices and faces in another order, faces from another corner on: the same head.</summary>
    [Fact]
    public void Head_in_another_order_is_carried_as_exactly()
    {
        HeadScan shuffled = ScanVariants.Shuffled(ScanVariants.Mapped(Own, p => p * 0.063), 5);
        TemplateHead numbered = Template.NumberedAs(shuffled.Mesh)!;

        (LatticePlacement placement, CarriedHead head) = Carry(shuffled, numbered);

        Assert.Same(Template, Template.NumberedAs(Template.Mesh));
        Assert.Equal(numbered.FaceParts, shuffled.FaceParts.Select(part => shuffled.Parts[part].Name));
        foreach (JointPlacement joint in placement.Joints)
        {
            Assert.True(Vector3d.Distance(head.Frame.ToFile(joint.Position), joint.Joint.Position * 0.063) < 1e-5 * 0.063, joint.Joint.Name);
        }
    }

    /// <summary>The lower teeth with their gums left out and a box put on top, all in another order: what is left of the template carries its joints as exactly, and what lies nearest carries the others.</summary>
    [Fact]
    public void Head_with_fewer_and_with_more_pieces_is_carried_as_exactly()
    {
        HeadScan changed = ScanVariants.Shuffled(WithBox(ScanVariants.Without(ScanVariants.Without(Own, "teeth_lower"), "gums_lower")), 3);
        TemplateHead numbered = Template.NumberedAs(changed.Mesh)!;

        (LatticePlacement placement, CarriedHead head) = Carry(changed, numbered);

        Assert.Equal(6, numbered.FaceParts.Count(part => part == TemplateHead.ForeignPart));
        Assert.DoesNotContain("teeth_lower", numbered.FaceParts);
        foreach (JointPlacement joint in placement.Joints)
        {
            double within = joint.Joint.Ride == Ride.TeethLower ? 0.02 : 1e-5;
            Assert.True(Vector3d.Distance(head.Frame.ToFile(joint.Position), joint.Joint.Position) < within, joint.Joint.Name);
            Assert.True(joint.Joint.Ride == Ride.TeethLower || joint.State == JointState.Modelled, joint.Joint.Name);
        }
    }

    [Fact]
    public void Head_without_its_balls_has_its_eyes_where_they_would_be()
    {
        HeadScan blind = ScanVariants.Without(ScanVariants.Without(Own, "eyeball_left"), "eyeball_right");
        TemplateHead numbered = Template.NumberedAs(blind.Mesh)!;

        (LatticePlacement placement, CarriedHead head) = Carry(blind, numbered);

        Assert.Equal(new PreparedTemplate(Template).EyeballRadius, numbered.EyeballRadius);
        foreach (JointPlacement eye in placement.Joints.Where(joint => joint.Joint.Ride is Ride.EyeballLeft or Ride.EyeballRight))
        {
            Assert.Equal(JointState.Inferred, eye.State);
            Assert.True(Vector3d.Distance(head.Frame.ToFile(eye.Position), eye.Joint.Position) < 1e-4, eye.Joint.Name);
        }
    }

    [Fact]
    public void Mesh_without_the_templates_skin_is_not_taken_for_it()
    {
        Assert.Null(Template.NumberedAs(ScanVariants.Without(Own, "skin").Mesh));
        Assert.Null(Template.NumberedAs(WithBox(ScanVariants.Without(Own, "skin")).Mesh));
    }

    [Fact]
    public void Pipeline_carries_a_head_with_a_box_on_top()
    {
        using PlacementPipeline pipeline = PlacementPipeline.Open();
        PlacementOptions own = PlacementOptions.Default with { Template = Template };

        PlacementResult plain = pipeline.Run(Own, own, CancellationToken.None), more = pipeline.Run(ScanVariants.Shuffled(WithBox(Own), 7), own, CancellationToken.None);

        Assert.Null(more.Registration);
        Assert.All(plain.Placement.Joints.Zip(more.Placement.Joints), pair => Assert.True(Vector3d.Distance(pair.First.Position, pair.Second.Position) < 1e-5));
    }

    [Fact]
    public void Pipeline_carries_a_head_in_another_order()
    {
        using PlacementPipeline pipeline = PlacementPipeline.Open();
        PlacementOptions own = PlacementOptions.Default with { Template = Template };

        PlacementResult plain = pipeline.Run(Own, own, CancellationToken.None), shuffled = pipeline.Run(ScanVariants.Shuffled(Own, 11), own, CancellationToken.None);

        Assert.Null(plain.Registration);
        Assert.Null(shuffled.Registration);
        Assert.All(plain.Placement.Joints.Zip(shuffled.Placement.Joints), pair => Assert.True(Vector3d.Distance(pair.First.Position, pair.Second.Position) < 1e-5));
    }

    private static HeadScan WithBox(HeadScan scan)
    {
        int first = scan.Mesh.VertexCount;
        int[][] sides = [[0, 2, 3, 1], [4, 5, 7, 6], [0, 1, 5, 4], [2, 6, 7, 3], [0, 4, 6, 2], [1, 3, 7, 5]];
        var corners = Enumerable.Range(0, 8).Select(c => new System.Numerics.Vector3((c & 1) - 0.5f, 2 + (c >> 1 & 1), (c >> 2) - 1));
        int[] starts = [.. scan.Mesh.FaceStarts, .. Enumerable.Range(1, 6).Select(s => scan.Mesh.FaceStarts[^1] + (4 * s))];
        var mesh = new PolygonMesh(
            [.. scan.Mesh.Positions, .. corners], starts, [.. scan.Mesh.FaceVertices, .. sides.SelectMany(side => side).Select(c => first + c)]);
        return ScanVariants.With(scan, mesh, [.. scan.FaceParts, .. Enumerable.Repeat(0, 6)]);
    }

    private static (LatticePlacement Placement, CarriedHead Head) Carry(HeadScan scan, TemplateHead? template = null)
    {
        CarriedHead head = Assert.IsType<CarriedHead>(CarriedHead.Recognise(template ?? Template, scan));
        TriangleMesh mesh = scan.Mesh.Triangulate(out _);
        return (head.Place(Template.Lattice, mesh.WithPositions(head.Frame.ToHead(mesh.Positions))), head);
    }
}
