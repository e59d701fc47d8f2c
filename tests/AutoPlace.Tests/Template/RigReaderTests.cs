using System.Text;
using AutoPlace.Geometry;
using AutoPlace.Template;
using Xunit;

namespace AutoPlace.Tests.Template;

/// <summary>Rig files as studios may write them, and what is refused.</summary>
public sealed class RigReaderTests
{
    [Fact]
    public void Names_parents_order_positions_and_rotations_are_the_files_own()
    {
        Rig rig = Read("""
            {"joints": [
              {"name": "Kopf", "position": [0, 160.5, 3e-2]},
              {"name": "L_Braue.01", "parent": "Kopf", "position": [3.25, 164, 9], "rotation": [0, 0, 0.6, 0.8]},
              {"name": "R_Braue.01", "parent": "Kopf", "position": [-3.25, 164, 9], "rotation": [0, 0, -0.6, 0.8]}]}
            """);

        Assert.Equal(["Kopf", "L_Braue.01", "R_Braue.01"], rig.Joints.Select(joint => joint.Name));
        Assert.Equal([null, "Kopf", "Kopf"], rig.Joints.Select(joint => joint.Parent));
        Assert.Equal(new Vector3d(3.25, 164, 9), rig.Joints[1].Position);
        Assert.Equal(new Rotation3d(0, 0, 0.6, 0.8), rig.Joints[1].Rotation);
        Assert.Equal(Rotation3d.Identity, rig.Joints[0].Rotation);
        Assert.Empty(rig.Notes);
    }

    [Fact]
    public void Parents_come_first_and_that_is_said_else_the_order_stays()
    {
        Rig rig = Read("""{"joints": [{"name": "c", "position": [0,0,0], "parent": "b"}, {"name": "x", "position": [0,0,0]}, {"name": "b", "position": [0,0,0], "parent": "a"}, {"name": "a", "position": [0,0,0]}]}""");

        Assert.Equal(["a", "b", "c", "x"], rig.Joints.Select(joint => joint.Name));
        Assert.Contains("parents were put first", Assert.Single(rig.Notes), StringComparison.Ordinal);
    }

    [Fact]
    public void Kind_other_is_no_joint()
    {
        Rig rig = Read("""{"joints": [{"name": "a", "position": [0,0,0], "kind": "surface"}, {"name": "aim", "position": [0,0,9], "kind": "other"}]}""");

        Assert.Equal([true, false], rig.Joints.Select(joint => joint.IsJoint));
        Assert.Empty(rig.Notes);
    }

    [Fact]
    public void Other_members_are_left_alone_and_said()
    {
        Rig rig = Read("\uFEFF" + """{"unit": "cm", "joints": [{"name": "a", "position": [0,0,0], "radius": 2}]}""");

        Assert.Equal("left alone: joints[].radius, unit", Assert.Single(rig.Notes));
    }

    public static TheoryData<string, string, string> Broken => new()
    {
        { """{"joints": []}""", "joints", "no joint" },
        { """{"bones": []}""", "", "'joints' is missing" },
        { """{"joints": [{"name": "a", "position": [0,0,0]}, {"name": "a", "position": [1,0,0]}]}""", "joint 'a'", "used twice" },
        { """{"joints": [{"name": "a", "position": [0,0,0], "parent": "b"}]}""", "joint 'a'", "'b' isn't in the rig" },
        { """{"joints": [{"name": "a", "position": [0,0,0], "parent": "b"}, {"name": "b", "position": [0,0,0], "parent": "a"}]}""", "joint 'a'", "cycle" },
        { """{"joints": [{"name": "a", "position": [0,0,0], "parent": "a"}]}""", "joint 'a'", "cycle" },
        { """{"joints": [{"name": "a", "position": [0,0]}]}""", "joint 'a'.position", "2 numbers where three" },
        { """{"joints": [{"name": "a", "position": [0,0,1e999]}]}""", "joint 'a'.position[2]", "outside the range" },
        { """{"joints": [{"name": "a", "position": [0,0,"NaN"]}]}""", "joint 'a'.position[2]", "expected a number" },
        { """{"joints": [{"name": "a", "position": [0,NaN,0]}]}""", "line 1", "not JSON" },
        { """{"joints": [{"name": "a", "position": [0,0,0], "rotation": [0,0,0,2]}]}""", "joint 'a'.rotation", "length 2" },
        { """{"joints": [{"name": "", "position": [0,0,0]}]}""", "joints[0].name", "empty" },
        { """{"joints": [{"position": [0,0,0]}]}""", "joints[0]", "'name' is missing" },
        { """[1, 2]""", "", "expected an object" },
        { "v 0 0 0", "", "no rig" },
        { "", "", "no rig" },
    };

    [Theory]
    [MemberData(nameof(Broken))]
    public void Faulty_rig_is_refused_with_file_element_and_reason(string json, string element, string reason)
    {
        TemplateFormatException refused = Assert.Throws<TemplateFormatException>(() => Read(json));

        Assert.StartsWith("rig.json: ", refused.Message, StringComparison.Ordinal);
        Assert.Contains(element, refused.Message, StringComparison.Ordinal);
        Assert.Contains(reason, refused.Message, StringComparison.Ordinal);
    }

    /// <summary>Nodes that only come along don't count.</summary>
    [Fact]
    public void More_than_six_hundred_joints_are_refused_with_their_number_and_the_limits()
    {
        Assert.Equal(601, Read(Joints(600, nodes: 1)).Joints.Count);

        TemplateFormatException refused = Assert.Throws<TemplateFormatException>(() => Read(Joints(601, nodes: 0)));

        Assert.StartsWith("rig.json: joints: ", refused.Message, StringComparison.Ordinal);
        Assert.Contains("601 joints", refused.Message, StringComparison.Ordinal);
        Assert.Contains("10 to 600", refused.Message, StringComparison.Ordinal);

        static string Joints(int joints, int nodes) => $$"""{"joints": [{{string.Join(", ", Enumerable.Range(0, joints + nodes).Select(i =>
            $$"""{"name": "joint{{i}}", "position": [0, 0, {{i}}]{{(i < joints ? "" : ", \"kind\": \"other\"")}}}"""))}}]}""";
    }

    [Fact]
    public void Missing_file_is_named()
    {
        Assert.Contains("nowhere.json", Assert.Throws<TemplateFormatException>(() => RigReader.Read("nowhere.json")).Message, StringComparison.Ordinal);
    }

    private static Rig Read(string json) => RigReader.Read("rig.json", Encoding.UTF8.GetBytes(json));
}
