using System.Numerics;
using System.Text.Json;
using AutoPlace.Export;
using AutoPlace.Import;
using AutoPlace.Template;
using SharpGLTF.Schema2;
using Xunit;

namespace AutoPlace.Tests.Export;

/// <summary>placement.glb as others read it: three.js, and SharpGLTF for what hangs on what.</summary>
public sealed class GltfReadbackTests
{
    [Theory]
    [MemberData(nameof(GltfPlacementWriterTests.All), MemberType = typeof(GltfPlacementWriterTests))]
    public void Three_puts_joints_where_the_placement_says(string kind)
    {
        var written = WrittenGlb.Of(kind);
        using JsonDocument read = NodeScript.Run("readback.mjs", "three", written.Glb);
        ILookup<string, JsonElement> nodes =
            read.RootElement.GetProperty("nodes").EnumerateArray().ToLookup(n => n.GetProperty("name").GetString()!);
        foreach (PlacedJoint joint in FileCoordinates.Describe(written.Result).Joints)
        {
            JsonElement node = Assert.Single(nodes[joint.Name]);
            Assert.InRange(Vector3.Distance(written.Expected(joint), Vectors(node.GetProperty("position"))[0]), 0, written.Tolerance);
            Assert.True(joint.Parent is null || joint.Parent == node.GetProperty("parent").GetString(), joint.Name);
        }
    }

    [Theory]
    [MemberData(nameof(GltfPlacementWriterTests.All), MemberType = typeof(GltfPlacementWriterTests))]
    public void Three_puts_vertices_where_the_source_has_them(string kind)
    {
        var written = WrittenGlb.Of(kind);
        using JsonDocument read = NodeScript.Run("readback.mjs", "three", written.Glb);
        Vector3[] expected = Expected(kind, written);
        Vector3[] actual = [.. read.RootElement.GetProperty("meshes").EnumerateArray().SelectMany(m => Vectors(m.GetProperty("positions")))];

        Assert.Equal(expected.Length, actual.Length);
        Assert.InRange(expected.Zip(actual, Vector3.Distance).Max(), 0, written.Tolerance);
    }

    [Fact]
    public void Joints_of_a_posed_character_are_back_where_they_were_bound_with_the_head_in_its_place()
    {
        ModelRoot model = Read("posed");
        Skin skin = model.LogicalSkins.Single(s => s.Joints.Any(j => j.Name == "hips_joint") && s.JointsCount > 3);
        int head = Enumerable.Range(0, skin.JointsCount).Single(j => skin.Joints[j].Name == "head_joint");
        Matrix4x4 expected = skin.InverseBindMatrices[head] * skin.Joints[head].WorldMatrix;
        for (int j = 0; j < skin.JointsCount; j++)
        {
            Matrix4x4 actual = skin.InverseBindMatrices[j] * skin.Joints[j].WorldMatrix;
            Assert.InRange((expected - actual).Translation.Length(), 0, WrittenGlb.Of("posed").Tolerance);
            Assert.Equal(0, (expected.GetDeterminant() / actual.GetDeterminant()) - 1, 1e-5);
        }
    }

    [Fact]
    public void What_is_not_the_heads_stays_as_it_was()
    {
        ModelRoot model = Read("busy");

        Node collar = model.LogicalNodes.Single(n => n.Name == "collar");
        Assert.Null(collar.Skin);
        Assert.Equal("neck_joint", collar.VisualParent.Name);
        Assert.Null(model.LogicalNodes.Single(n => n.Name == "elsewhere").Skin);
        Assert.Equal("nodding", Assert.Single(model.LogicalAnimations).Name);
        Assert.Equal(1, model.LogicalNodes.Single(n => n.Name == "face").Mesh.Primitives[0].MorphTargetsCount);
        Assert.DoesNotContain("KHR_draco_mesh_compression", model.ExtensionsUsed);
        Assert.All(model.LogicalMeshes, m => Assert.False(string.IsNullOrEmpty(m.Name)));
    }

    [Fact]
    public void A_mesh_with_a_skin_of_its_own_follows_the_lattice_too()
    {
        ModelRoot model = Read("busy");
        Node eye = model.LogicalNodes.Single(n => n.Name == "eyeball_left");

        Assert.Equal("head_joint", eye.Skin.Joints[0].Name);
        int joint = (int)eye.Mesh.Primitives[0].GetVertexAccessor("JOINTS_0").AsVector4Array()[0].X;
        Assert.Equal("eye_centre_left", eye.Skin.Joints[joint].Name);
    }

    private static Vector3[] Expected(string kind, WrittenGlb written)
    {
        if (written.Source is null)
        {
            // That the file has the scan's shape is tested elsewhere; here, that two readers agree on it.
            return AsAuthored(written.Glb);
        }

        Vector3[] positions = kind == "posed"
            ? [.. AsAuthored(SampleGltf.Character()).Select(p => Vector3.Transform(p, SampleGltf.BindToPose))]
            : AsAuthored(written.Source);
        PlacedHead head = FileCoordinates.Describe(written.Result).Head;
        AxisAlignment alignment = AxisAlignment.Of(head.Frame, head.MetresPerUnit);
        Rotation3d r = alignment.Rotation;
        Matrix4x4 toGltf = Matrix4x4.CreateScale((Vector3)alignment.Scale)
            * Matrix4x4.CreateFromQuaternion(new((float)r.X, (float)r.Y, (float)r.Z, (float)r.W));
        return [.. positions.Select(p => Vector3.Transform(p, toGltf))];
    }

    private static Vector3[] AsAuthored(byte[] glb) =>
        MeshReader.Read(new MemoryStream(glb), "source.glb", new MeshReadOptions { AsAuthored = true }).Mesh.Positions.ToArray();

    private static ModelRoot Read(string kind) => ModelRoot.ReadGLB(new MemoryStream(WrittenGlb.Of(kind).Glb));

    private static Vector3[] Vectors(JsonElement numbers)
    {
        float[] flat = [.. numbers.EnumerateArray().Select(n => (float)n.GetDouble())];
        return [.. flat.Chunk(3).Select(v => new Vector3(v[0], v[1], v[2]))];
    }
}
