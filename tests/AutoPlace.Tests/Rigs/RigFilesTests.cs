using AutoPlace.Export;
using AutoPlace.Geometry;
using AutoPlace.Registration;
using AutoPlace.Template;
using AutoPlace.TemplateBuilder.Cast.Measuring;
using AutoPlace.Tests.Export;
using AutoPlace.Tests.Heads;
using Xunit;

namespace AutoPlace.Tests.Rigs;

/// <summary>Rigs as files of several kinds, in other units and axes, or of one side only; and what placements of them are written as.</summary>
public sealed class RigFilesTests(RigHeads heads) : IClassFixture<RigHeads>
{
    private const string Head = "maren";

    private static readonly TruthFile Truth = RigHeads.Truth(Head);

    /// <summary>The same rig by both kinds of files; glTF's single precision leaves 1e-6.</summary>
    [Fact]
    public void Rig_in_glTF_gives_the_same_template_as_in_JSON_and_plain_nodes_come_along()
    {
        List<RigJoint> rig = WithAim(DemoRig.Of(Truth).Turned(Truth, Matrix3d.Diagonal(1, -1, 1), 3));

        TemplateHead json = Fit(RigReader.Read("rig.json", rig.ToJson())).Template, gltf = Fit(RigReader.Read("rig.gltf", rig.ToGltf())).Template;

        Assert.Equal(json.Lattice.Joints.Select(joint => (joint.Name, joint.Parent)), gltf.Lattice.Joints.Select(joint => (joint.Name, joint.Parent)));
        foreach ((ControlJoint a, ControlJoint b) in json.Lattice.Joints.Zip(gltf.Lattice.Joints))
        {
            Assert.InRange(Vector3d.Distance(a.Position, b.Position), 0, 1e-5);
            Assert.InRange(Rotation3d.AngleDegrees(a.Rotation, b.Rotation), 0, 0.001);
            Assert.Equal(a.Ride, b.Ride);
        }

        Assert.Equal(JointKind.Other, gltf.Lattice.Joints.Single(joint => joint.Name == "aim_left").Kind);
        ControlJoint eye = gltf.Lattice.Joints.Single(joint => joint.Name == "eye_centre_left");
        Assert.Equal((RotationPolicy.Aim, "aim_left"), (eye.RotationPolicy, eye.AimTarget));
    }

    /// <summary>On another head the eye's axis still points at its target, and the files agree with each other.</summary>
    [Fact]
    public void Placement_of_a_turned_rig_aims_and_is_written_in_world_and_local_terms()
    {
        List<RigJoint> rig = WithAim(DemoRig.Of(Truth).Turned(Truth, Matrix3d.Diagonal(-1, 1, 1), 5));
        PlacementResult placed = heads.Place(Fit(RigReader.Read("rig.gltf", rig.ToGltf())).Template, "tibb");
        PlacementDocument document = FileCoordinates.Describe(placed);
        var joints = document.Joints.ToDictionary(joint => joint.Name, StringComparer.Ordinal);

        Assert.Equal(rig.Select(joint => joint.Name).Order(StringComparer.Ordinal), joints.Keys.Order(StringComparer.Ordinal));
        Vector3d axis = joints["eye_centre_left"].Rotation.Rotate(Vector3d.UnitX), to = joints["aim_left"].Position - joints["eye_centre_left"].Position;
        Assert.InRange(Vector3d.Cross(axis, to.Normalized()).Length, 0, 1e-6);
        foreach (PlacedJoint joint in document.Joints.Where(joint => joint.Parent is not null))
        {
            PlacedJoint parent = joints[joint.Parent!];
            Assert.InRange(Vector3d.Distance(parent.Position + parent.Rotation.Rotate(joint.LocalTranslation), joint.Position), 0, 1e-4);
            Assert.InRange(Rotation3d.AngleDegrees(parent.Rotation * joint.LocalRotation, joint.Rotation), 0, 1e-4);
        }

        using var glb = new MemoryStream();
        GltfPlacementWriter.Write(placed, glb);
        GltfValidator.AssertNoErrors(glb.ToArray());
    }

    public static TheoryData<double, int> Coordinates => new() { { 100, 0 }, { 1000, 1 }, { 1, 1 }, { 0.01, 2 }, { 39.37007874015748, 0 }, { 100, 1 } };

    /// <summary>The head is in metres with Y up. The rig is in another unit, and with Z up (1) or X to the front (2).</summary>
    [Theory]
    [MemberData(nameof(Coordinates))]
    public void Rig_in_another_unit_or_frame_is_aligned_and_that_is_said(double scale, int axes)
    {
        List<RigJoint> rig = DemoRig.Of(Truth);
        Matrix3d[] turns =
        [
            Matrix3d.Identity,
            Matrix3d.FromColumns(Vector3d.UnitX, Vector3d.UnitZ, -Vector3d.UnitY),
            Matrix3d.FromColumns(-Vector3d.UnitZ, Vector3d.UnitY, Vector3d.UnitX),
        ];
        var turn = Rotation3d.FromMatrix(turns[axes]);
        List<RigJoint> other = [.. rig.Select(joint => joint with { Position = turn.Rotate(joint.Position) * scale, Rotation = turn * joint.Rotation })];

        TemplateHead plain = Fit(new Rig("rig.json", rig, [])).Template;
        FittedTemplate aligned = Fit(new Rig("rig.json", other, []));

        Assert.Contains("other coordinates", Assert.Single(aligned.Notes), StringComparison.Ordinal);
        foreach ((ControlJoint a, ControlJoint b) in plain.Lattice.Joints.Zip(aligned.Template.Lattice.Joints))
        {
            Assert.InRange(Vector3d.Distance(a.Position, b.Position), 0, 1e-5);
            Assert.InRange(Rotation3d.AngleDegrees(a.Rotation, b.Rotation), 0, 1e-4);
        }
    }

    [Fact]
    public void Rig_that_lies_elsewhere_is_refused_and_so_is_a_joint_far_away()
    {
        List<RigJoint> rig = DemoRig.Of(Truth);
        Vector3d away = new Vector3d(3, 7, 1) * Truth.InterocularDistance;
        Assert.Contains("isn't on this head", Assert.Throws<TemplateFormatException>(
            () => Fit(new Rig("rig.json", [.. rig.Select(joint => joint with { Position = joint.Position + away })], []))).Message, StringComparison.Ordinal);

        Vector3d far = Truth.Origin - (Truth.Up * (50 * Truth.InterocularDistance));
        TemplateFormatException refused = Assert.Throws<TemplateFormatException>(
            () => Fit(new Rig("rig.json", [.. rig, new RigJoint("ground", null, far, Rotation3d.Identity)], [])));
        Assert.StartsWith("rig.json: joint 'ground': lies ", refused.Message, StringComparison.Ordinal);
        Assert.Contains("too far", refused.Message, StringComparison.Ordinal);
    }

    /// <summary>A head from a file that is inside out: the skin's normals point outward all the same, and the rig lands on other heads as before.</summary>
    [Fact]
    public void Template_of_a_head_that_is_inside_out_knows_which_way_is_out()
    {
        TemplateHead template = Fit(new Rig("rig.json", DemoRig.Of(Truth), [])).Template;
        PolygonMesh mesh = template.Mesh;
        int[] reversed = [.. Enumerable.Range(0, mesh.FaceCount).SelectMany(f => mesh.Face(f).ToArray().Reverse())];
        var insideOut = new PreparedTemplate(template with { Mesh = new PolygonMesh(mesh.Positions.ToArray(), mesh.FaceStarts.ToArray(), reversed) });
        var plain = new PreparedTemplate(template);

        Assert.All(template.Lattice.Joints.Where(joint => joint.Ride == Ride.Skin), joint =>
            Assert.True(Vector3d.Dot(plain.SkinNormal(joint), insideOut.SkinNormal(joint)) > 0.7, joint.Name));
    }

    /// <summary>Hair of a larger area, a piece of its own that is inside out and taken for skin, turns no face over.</summary>
    [Fact]
    public void Template_whose_hair_is_inside_out_knows_which_way_is_out_of_the_face()
    {
        TemplateHead template = Fit(new Rig("rig.json", DemoRig.Of(Truth), [])).Template;
        PolygonMesh mesh = template.Mesh, hair = Shapes.Polygons(Rendering.Shapes.Ellipsoid(new(3, 3, 3), 8));
        System.Numerics.Vector3[] behind = [.. hair.Positions.ToArray().Select(p => p - new System.Numerics.Vector3(0, 0, 8))];
        int[] reversed = [.. Enumerable.Range(0, hair.FaceCount).SelectMany(f => hair.Face(f).ToArray().Reverse().Select(v => mesh.VertexCount + v))];
        var plain = new PreparedTemplate(template);

        var withHair = new PreparedTemplate(template with
        {
            Mesh = new PolygonMesh(
                [.. mesh.Positions, .. behind], [.. mesh.FaceStarts, .. hair.FaceStarts.ToArray().Skip(1).Select(start => mesh.FaceVertices.Length + start)], [.. mesh.FaceVertices, .. reversed]),
            FaceParts = [.. template.FaceParts, .. Enumerable.Repeat("skin", hair.FaceCount)],
            AtlasPositions = (System.Numerics.Vector3[])[.. template.AtlasPositions!.Value.Span, .. behind],
        });

        Assert.All(template.Lattice.Joints.Where(joint => joint.Ride == Ride.Skin), joint =>
            Assert.True(Vector3d.Dot(plain.SkinNormal(joint), withHair.SkinNormal(joint)) > 0.7, joint.Name));
    }

    /// <summary>A body below the head, down to the ground 26 interocular distances under the eyes, comes along.</summary>
    [Fact]
    public void Rig_of_a_whole_character_is_accepted()
    {
        List<RigJoint> face = DemoRig.Of(Truth);
        RigJoint[] body = [.. Enumerable.Range(0, 300).Select(i => new RigJoint(
            $"body{i}x", i == 0 ? null : $"body{i - 1}x", Truth.Origin - (Truth.Up * ((26 - (i * 0.07)) * Truth.InterocularDistance)), Rotation3d.Identity))];

        TemplateHead template = Fit(new Rig("rig.json", [.. body, .. face], [])).Template;
        PlacementResult placed = heads.Place(TemplateReader.Read("t", TemplateWriter.Write(template)), "tibb");

        Assert.Equal(body.Length + face.Count, placed.Placement.Joints.Count);
        Assert.InRange(HeadMeasure.Of(RigHeads.Truth("tibb"), placed).Mean, 0, 4);
        JointPlacement ground = placed.Placement.Joints[0];
        Assert.InRange(ground.Position.Y, -28, -24);
        Assert.Equal(0, ground.Position.X);
    }

    /// <summary>The head is symmetric: what is added is where the true joints of the other side are, to the rounding of its file.</summary>
    [Theory]
    [InlineData("_left", "_right", "L_{0}")]
    [InlineData("_right", "_left", "{0}Right")]
    public void One_sided_rig_is_completed(string kept, string missing, string form)
    {
        string Name(string name) => name.Contains(kept, StringComparison.Ordinal)
            ? string.Format(System.Globalization.CultureInfo.InvariantCulture, form, name.Replace(kept, "", StringComparison.Ordinal)) : name;
        string Twin(string name) => Name(name.Replace(missing, kept, StringComparison.Ordinal)).Replace("L_", "R_", StringComparison.Ordinal).Replace("Right", "Left", StringComparison.Ordinal);
        List<RigJoint> whole = DemoRig.Of(Truth);
        List<RigJoint> half = whole.Only([.. whole.Select(joint => joint.Name).Where(name => !name.EndsWith(missing, StringComparison.Ordinal))]).Renamed(Name);

        FittedTemplate fitted = Fit(new Rig("rig.json", half, []));

        Assert.Contains("were added on the other side", Assert.Single(fitted.Notes), StringComparison.Ordinal);
        Assert.Equal(whole.Count, fitted.Template.Lattice.Joints.Count);
        HashSet<string> found = [.. fitted.Template.Lattice.Joints.Select(joint => joint.Name)];
        Assert.All(whole.Where(joint => joint.Name.EndsWith(missing, StringComparison.Ordinal)), joint => Assert.Contains(Twin(joint.Name), found));
        var full = Fit(new Rig("rig.json", whole, [])).Template.Lattice.Joints.ToDictionary(joint => joint.Name, StringComparer.Ordinal);
        foreach (ControlJoint joint in fitted.Template.Lattice.Joints.Skip(half.Count))
        {
            ControlJoint own = full.Values.MinBy(other => Vector3d.Distance(other.Position, joint.Position))!;
            Assert.InRange(Vector3d.Distance(own.Position, joint.Position), 0, 1e-4);
            Assert.Equal(kept == "_left" ? Side.Right : Side.Left, joint.Side);
            Assert.NotNull(joint.Twin);
        }
    }

    [Fact]
    public void One_sided_rig_whose_names_dont_tell_is_left_and_that_is_said()
    {
        List<RigJoint> whole = DemoRig.Of(Truth);
        List<RigJoint> half = whole.Only([.. whole.Select(joint => joint.Name).Where(name => !name.EndsWith("_right", StringComparison.Ordinal))])
            .Renamed(name => name.Replace("_left", "_s", StringComparison.Ordinal));

        FittedTemplate fitted = Fit(new Rig("rig.json", half, []));

        Assert.Contains("doesn't tell what its twin", Assert.Single(fitted.Notes), StringComparison.Ordinal);
        Assert.Equal(half.Count, fitted.Template.Lattice.Joints.Count);
    }

    private FittedTemplate Fit(Rig rig) => TemplateFitting.Fit("rig", heads.Look(Head), rig);

    // Each eye turned so that its x axis points at a plain node five interocular distances ahead.
    private static List<RigJoint> WithAim(List<RigJoint> joints)
    {
        Vector3d front = Vector3d.Cross(Truth.Left, Truth.Up);
        var result = new List<RigJoint>();
        var targets = new List<RigJoint>();
        foreach (RigJoint joint in joints)
        {
            if (!joint.Name.StartsWith("eye_centre", StringComparison.Ordinal))
            {
                result.Add(joint);
                continue;
            }

            Vector3d target = joint.Position + (((front * 5) + (Truth.Up * 0.3)) * Truth.InterocularDistance);
            Vector3d x = (target - joint.Position).Normalized(), z = Vector3d.Cross(x, Truth.Up).Normalized();
            result.Add(joint with { Rotation = Rotation3d.FromMatrix(Matrix3d.FromColumns(x, Vector3d.Cross(z, x), z)) });
            targets.Add(new RigJoint(joint.Name.Replace("eye_centre", "aim", StringComparison.Ordinal), null, target, Rotation3d.Identity, IsJoint: false));
        }

        return [.. result, .. targets];
    }
}
