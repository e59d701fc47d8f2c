using System.Numerics;
using System.Text;
using AutoPlace.Export;
using AutoPlace.Geometry;
using AutoPlace.Import;
using SharpGLTF.Schema2;
using Xunit;

namespace AutoPlace.Tests.Export;

public sealed class GltfPlacementWriterTests
{
    public static TheoryData<string> Sources => ["z-up", "mirrored", "plain", "character"];

    public static TheoryData<string> All => ["z-up", "mirrored", "plain", "character", "posed", "busy"];

    [Theory]
    [MemberData(nameof(All))]
    public void Validator_of_the_format_finds_no_errors(string source)
    {
        string[] warnings = GltfValidator.AssertNoErrors(Write(source).Glb);

        // Meshes stay below the root node, so that they keep their place where skins are ignored; see the writer.
        Assert.All(warnings, w => Assert.Equal("NODE_SKINNED_MESH_NON_ROOT", w));
    }

    [Theory]
    [MemberData(nameof(Sources))]
    public void Joints_stand_where_the_placement_says_in_metres(string source)
    {
        (byte[] glb, PlacementResult result) = Write(source);
        PlacementDocument document = FileCoordinates.Describe(result);
        ModelRoot model = Read(glb);
        AxisAlignment alignment = AxisAlignment.Of(document.Head.Frame, document.Head.MetresPerUnit);
        foreach (PlacedJoint joint in document.Joints)
        {
            Node node = Joint(model, joint.Name);
            Vector3d scaled = new(
                joint.Position.X * alignment.Scale.X, joint.Position.Y * alignment.Scale.Y, joint.Position.Z * alignment.Scale.Z);

            Vector3 expected = (Vector3)alignment.Rotation.Rotate(scaled);

            Assert.True(Vector3.Distance(expected, node.WorldMatrix.Translation) < 2e-6f, joint.Name);
            if (joint.Parent is not null)
            {
                Assert.Equal(joint.Parent, node.VisualParent.Name);
            }
        }
    }

    [Theory]
    [MemberData(nameof(Sources))]
    public void Head_faces_forward_in_metres(string source)
    {
        ModelRoot model = Read(Write(source).Glb);

        Vector3 left = Joint(model, "eye_centre_left").WorldMatrix.Translation;
        Vector3 right = Joint(model, "eye_centre_right").WorldMatrix.Translation;
        Vector3 nose = Joint(model, "pronasale").WorldMatrix.Translation;

        Assert.Equal(0.063f, left.X - right.X, 1e-5f);
        Assert.True(nose.Z > left.Z && nose.Y < left.Y);
    }

    [Theory]
    [MemberData(nameof(Sources))]
    public void Undeformed_vertices_stay_where_they_were(string source)
    {
        (byte[] glb, PlacementResult result) = Write(source);
        ModelRoot model = Read(glb);
        Matrix4x4 fileToGltf = model.LogicalNodes.Single(n => n.Name == "file_to_gltf").LocalMatrix;
        var places = new HashSet<(int, int, int)>(result.Scan.Mesh.Positions.ToArray().Select(p => Cell(Vector3.Transform(p, fileToGltf))));
        foreach (Node node in model.LogicalNodes.Where(n => n.Mesh is not null))
        {
            Assert.NotNull(node.Skin);
            foreach (Vector3 p in Skinned(node))
            {
                (int x, int y, int z) = Cell(p);
                Assert.Contains(
                    from dx in (int[])[-1, 0, 1]
                    from dy in (int[])[-1, 0, 1]
                    from dz in (int[])[-1, 0, 1]
                    select (x + dx, y + dy, z + dz),
                    places.Contains);
            }
        }
    }

    [Theory]
    [MemberData(nameof(All))]
    public void Parents_come_first_among_a_skins_joints(string source)
    {
        ModelRoot model = Read(Write(source).Glb);
        foreach (Skin skin in model.LogicalSkins)
        {
            List<int> joints = [.. skin.Joints.Select(j => j.LogicalIndex)];
            string[] lattice = [.. SampleHead.Lattice.Joints.Select(j => j.Name)];
            if (skin.Joints.Any(j => j.Name == "skullbase"))
            {
                Assert.Equal(lattice, skin.Joints.Select(j => j.Name).Where(n => lattice.Contains(n)));
            }
        }
    }

    [Fact]
    public void Turning_an_eye_joint_turns_its_eyeball_and_nothing_else()
    {
        ModelRoot model = Read(Write("z-up").Glb);
        Node eye = Joint(model, "eye_centre_left");
        Dictionary<string, Vector3[]> before = model.LogicalNodes.Where(n => n.Mesh is not null).ToDictionary(n => n.Name, Skinned);

        eye.LocalMatrix = Matrix4x4.CreateRotationX(0.5f) * eye.LocalMatrix;

        foreach (Node node in model.LogicalNodes.Where(n => n.Mesh is not null))
        {
            double moved = Skinned(node).Zip(before[node.Name], Vector3.Distance).Max();
            Assert.Equal(node.Name == "eyeball_left", moved > 1e-6);
        }
    }

    [Fact]
    public void Everything_else_in_the_source_stays()
    {
        ModelRoot source = Read(SampleGltf.Plain());
        byte[] glb = Write("plain").Glb;
        ModelRoot model = Read(glb);

        Assert.Contains("keep me", Encoding.UTF8.GetString(glb), StringComparison.Ordinal);
        foreach (Node node in source.LogicalNodes)
        {
            Node same = model.LogicalNodes[node.LogicalIndex];
            Assert.Equal(node.Name, same.Name);
            Assert.Equal(node.LocalMatrix, same.LocalMatrix);
            if (node.Mesh is not null)
            {
                Assert.Equal(
                    node.Mesh.Primitives[0].GetVertexAccessor("POSITION").AsVector3Array(),
                    same.Mesh.Primitives[0].GetVertexAccessor("POSITION").AsVector3Array());
            }
        }
    }

    [Fact]
    public void In_a_character_the_lattice_hangs_on_the_head_and_shares_only_its_weight()
    {
        (byte[] glb, PlacementResult result) = Write("character");
        ModelRoot model = Read(glb);

        Assert.Equal("head_joint", Joint(model, "skullbase").VisualParent.Name);
        Node face = model.LogicalNodes.Single(n => n.Name == "face");
        int head = 2, neck = 1;
        Vector4[] joints = [.. face.Mesh.Primitives[0].GetVertexAccessor("JOINTS_0").AsVector4Array()];
        Vector4[] weights = [.. face.Mesh.Primitives[0].GetVertexAccessor("WEIGHTS_0").AsVector4Array()];
        Vector3[] positions = [.. face.Mesh.Primitives[0].GetVertexAccessor("POSITION").AsVector3Array()];
        for (int v = 0; v < joints.Length; v++)
        {
            float onNeck = 0, onHead = 0;
            for (int i = 0; i < 4; i++)
            {
                onNeck += joints[v][i] == neck ? weights[v][i] : 0;
                onHead += joints[v][i] == head ? weights[v][i] : 0;
            }

            float y = (float)result.Frame.ToHead(positions[v]).Y;
            Assert.Equal(SampleGltf.NeckShare(y), onNeck, 1e-4f);
            Assert.Equal(0, onHead);
            Assert.Equal(1, weights[v].X + weights[v].Y + weights[v].Z + weights[v].W, 1e-6f);
        }
    }

    [Fact]
    public void Glb_written_for_a_scan_reads_back_as_the_same_shape()
    {
        (byte[] glb, PlacementResult result) = Write("z-up");

        HeadScan back = MeshReader.Read(new MemoryStream(glb), "placement.glb");

        Assert.Equal(result.Scan.Parts.Select(p => p.Name), back.Parts.Select(p => p.Name));
        Assert.Equal(result.Scan.Mesh.VertexCount, back.Mesh.VertexCount);
        Assert.Equal(result.Scan.Mesh.FaceCount, back.Mesh.FaceCount);
    }

    private static (byte[] Glb, PlacementResult Result) Write(string source)
    {
        var written = WrittenGlb.Of(source);
        return (written.Glb, written.Result);
    }

    private static ModelRoot Read(byte[] glb) => ModelRoot.ReadGLB(new MemoryStream(glb));

    private static Node Joint(ModelRoot model, string name) => model.LogicalNodes.Single(n => n.Name == name && n.Mesh is null);

    private static Vector3[] Skinned(Node node)
    {
        MeshPrimitive primitive = node.Mesh.Primitives[0];
        Vector3[] positions = [.. primitive.GetVertexAccessor("POSITION").AsVector3Array()];
        Vector4[] joints = [.. primitive.GetVertexAccessor("JOINTS_0").AsVector4Array()];
        Vector4[] weights = [.. primitive.GetVertexAccessor("WEIGHTS_0").AsVector4Array()];
        for (int v = 0; v < positions.Length; v++)
        {
            Vector3 sum = Vector3.Zero;
            for (int i = 0; i < 4; i++)
            {
                (Node joint, Matrix4x4 inverseBind) = node.Skin.GetJoint((int)joints[v][i]);
                sum += Vector3.Transform(positions[v], inverseBind * joint.WorldMatrix) * weights[v][i];
            }

            positions[v] = sum;
        }

        return positions;
    }

    // Cells of 0.02 mm.
    private static (int X, int Y, int Z) Cell(Vector3 p) =>
        ((int)MathF.Floor(p.X * 5e4f), (int)MathF.Floor(p.Y * 5e4f), (int)MathF.Floor(p.Z * 5e4f));
}
