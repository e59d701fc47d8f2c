using System.Text;
using AutoPlace.Geometry;
using AutoPlace.Template;
using Xunit;

namespace AutoPlace.Tests.Template;

/// <summary>Rigs in glTF files: which nodes count, in what order, and where they are.</summary>
public sealed class GltfRigTests
{
    // Half a quarter turn about x, as files write it; single precision leaves 1e-7.
    private const double Half = 0.70710678118654752, Single = 1e-6;

    /// <summary>The holder turns Z up into Y up and centimetres into metres, as exporters do: (x, y, z) becomes (x, z, -y) / 100.</summary>
    [Fact]
    public void Skin_joints_come_in_the_skins_order_in_scene_coordinates_and_other_nodes_come_along()
    {
        Rig rig = Read("""
            {"asset": {"version": "2.0"}, "scene": 0, "scenes": [{"nodes": [0]}],
             "nodes": [
               {"name": "holder", "children": [3, 1, 6], "rotation": [-0.7071067811865475, 0, 0, 0.7071067811865476], "scale": [0.01, 0.01, 0.01]},
               {"name": "targets", "children": [2]},
               {"name": "aim_l", "translation": [3, -40, 160]},
               {"name": "head", "children": [4, 5], "translation": [0, 0, 150]},
               {"name": "jaw", "translation": [0, -2, -5]},
               {"name": "offset", "children": [7], "translation": [0, -9, 6], "rotation": [0, 0, 0.7071067811865475, 0.7071067811865476]},
               {"name": "face", "mesh": 0},
               {"name": "brow", "translation": [1, 0, 0]}],
             "skins": [{"joints": [3, 7, 4]}],
             "accessors": [{"componentType": 5126, "count": 3, "type": "VEC3"}],
             "meshes": [{"primitives": [{"attributes": {"POSITION": 0}}]}]}
            """);

        Assert.Equal(["head", "offset", "brow", "jaw", "targets", "aim_l"], rig.Joints.Select(joint => joint.Name));
        Assert.Equal([null, "head", "offset", "head", null, "targets"], rig.Joints.Select(joint => joint.Parent));
        Assert.Equal([true, false, true, true, false, false], rig.Joints.Select(joint => joint.IsJoint));
        AssertNear(new Vector3d(0, 1.5, 0), rig.Joints[0].Position);
        AssertNear(new Vector3d(0, 1.45, 0.02), rig.Joints[3].Position);
        AssertNear(new Vector3d(0.03, 1.6, 0.4), rig.Joints[5].Position);

        // The offset's quarter turn about the file's z, which is up, takes the brow's step along x to the back of y: (0, 1, 0) is (0, 0, -1).
        AssertNear(new Vector3d(0, 1.56, 0.08), rig.Joints[2].Position);
        Assert.InRange(Rotation3d.AngleDegrees(new Rotation3d(-Half, 0, 0, Half), rig.Joints[0].Rotation), 0, 1e-3);
        Assert.Contains(rig.Notes, note => note.Contains("6 nodes are scaled", StringComparison.Ordinal));
        Assert.Contains(rig.Notes, note => note.Contains("parents were put first", StringComparison.Ordinal));
    }

    [Fact]
    public void Without_a_skin_all_plain_nodes_are_joints()
    {
        Rig rig = Read("""
            {"asset": {"version": "2.0"}, "scenes": [{"nodes": [0]}],
             "nodes": [{"name": "scene", "children": [1, 3]}, {"name": "eye", "children": [2], "translation": [1, 2, 3]}, {"name": "ball", "mesh": 0}, {"name": "jaw", "translation": [0, 1, 0]}],
             "accessors": [{"componentType": 5126, "count": 3, "type": "VEC3"}],
             "meshes": [{"primitives": [{"attributes": {"POSITION": 0}}]}]}
            """);

        Assert.Equal([("eye", null, true), ("jaw", null, true)], rig.Joints.Select(joint => (joint.Name, joint.Parent, joint.IsJoint)));
        AssertNear(new Vector3d(1, 2, 3), rig.Joints[0].Position);
        Assert.Empty(rig.Notes);
    }

    [Theory]
    [InlineData("""{"asset": {"version": "2.0"}, "nodes": [{"name": "a"}, {"name": "a"}]}""", "joint 'a'", "used twice")]
    [InlineData("""{"asset": {"version": "2.0"}, "nodes": [{"translation": [1, 0, 0]}]}""", "node 0", "no name")]
    [InlineData("""{"asset": {"version": "2.0"}, "nodes": [{"name": "a", "children": [1]}, {"name": "b", "children": [0]}]}""", "node", "")]
    [InlineData("""{"asset": {"version": "2.0"}, "nodes": [{"name": "a", "scale": [0, 1, 1]}]}""", "node 0 'a'", "no length")]
    [InlineData("""{"asset": {"version": "2.0"}}""", "joints", "no joint")]
    [InlineData("""{"asset": {"version": "2.0"}, "nodes": [{"name": "a", "translation": [1e999, 0, 0]}]}""", "", "")]
    public void Faulty_file_is_refused_with_element_and_reason(string gltf, string element, string reason)
    {
        TemplateFormatException refused = Assert.Throws<TemplateFormatException>(() => Read(gltf));

        Assert.StartsWith("rig.gltf: ", refused.Message, StringComparison.Ordinal);
        Assert.Contains(element, refused.Message, StringComparison.Ordinal);
        Assert.Contains(reason, refused.Message, StringComparison.Ordinal);
    }

    [Fact]
    public void Truncated_binary_file_is_refused() => Assert.Throws<TemplateFormatException>(() => RigReader.Read("rig.glb", "glTF\u0002\0\0\0"u8.ToArray()));

    private static void AssertNear(Vector3d expected, Vector3d actual) => Assert.InRange(Vector3d.Distance(expected, actual), 0, Single);

    private static Rig Read(string gltf) => RigReader.Read("rig.gltf", Encoding.UTF8.GetBytes(gltf));
}
