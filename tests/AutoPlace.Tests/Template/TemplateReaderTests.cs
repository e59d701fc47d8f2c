using System.Text;
using System.Text.Json.Nodes;
using AutoPlace.Template;
using Xunit;

namespace AutoPlace.Tests.Template;

/// <summary>What the reader refuses, and that it names the element.</summary>
public sealed class TemplateReaderTests
{
    private const string Small = """
        {
          "format": "autoplace.template", "version": 1, "name": "two", "templateVersion": "1",
          "mesh": {"vertices": [0,0,0, 1,0,0, 1,1,0, 0,1,0], "faces": [[0,1,2,3]], "parts": [{"name": "skin", "faces": 1}]},
          "landmarks": {"menton": [0, -1, 0]},
          "joints": [
            {"name": "root", "kind": "pivot", "position": [0,0,0], "ride": "inner"},
            {"name": "leaf", "kind": "surface", "parent": "root", "position": [0,0,1], "ride": "skin", "lift": 0.01, "skinPoint": [0,0,0.99]}],
          "rows": [{"name": "both", "joints": ["root", "leaf"]}], "columns": [], "reduced": ["root"], "coverage": {"FACS 26": ["root"]}
        }
        """;

    [Fact]
    public void Small_template_is_read()
    {
        TemplateHead template = Read(_ => { });
        Assert.Equal(["root", "leaf"], template.Lattice.Joints.Select(joint => joint.Name));
        Assert.Equal(["skin"], template.FaceParts);
        Assert.Equal(4, template.Mesh.VertexCount);
    }

    [Theory]
    [InlineData("joints[1].parent", "\"stem\"", "joint 'leaf'", "'stem'")]
    [InlineData("joints[0].parent", "\"leaf\"", "joint 'root'", "cycle")]
    [InlineData("joints[1].name", "\"root\"", "joint 'root'", "twice")]
    [InlineData("joints[1].skinPoint", null, "joint 'leaf'", "skin point")]
    [InlineData("joints[1].kind", "\"bone\"", "joint 'leaf'.kind", "'bone'")]
    [InlineData("joints[1].position", "[0, 1]", "joint 'leaf'.position", "three")]
    [InlineData("joints[1].rotation", "[0, 0, 0, 2]", "joint 'leaf'.rotation", "length 2")]
    [InlineData("joints[1].rotationPolicy", "\"aim\"", "joint 'leaf'", "aim target")]
    [InlineData("joints[1].twin", "\"root\"", "joint 'leaf'", "twin 'root'")]
    [InlineData("joints[1].twin", "\"leaf\"", "joint 'leaf'", "twin 'leaf'")]
    [InlineData("eyeballRadius", "0", "eyeballRadius", "not positive")]
    [InlineData("joints[1].weight", "1", "joint 'leaf'", "'weight'")]
    [InlineData("rows[0].joints", "[\"root\", \"stem\"]", "row 'both'", "'stem'")]
    [InlineData("rows[0].joints", "[\"root\", \"root\"]", "row 'both'", "twice")]
    [InlineData("reduced", "[\"stem\"]", "reduced", "'stem'")]
    [InlineData("coverage", "{\"FACS 1\": [\"stem\"]}", "coverage 'FACS 1'", "'stem'")]
    [InlineData("mesh.faces", "[[0, 1, 4]]", "mesh.faces[0][2]", "index")]
    [InlineData("mesh.faces", "[[0, 1]]", "mesh.faces[0]", "2 corners")]
    [InlineData("mesh.vertices", "[0, 1]", "mesh.vertices", "three")]
    [InlineData("mesh.vertices", "[0, 1, \"x\"]", "mesh.vertices[2]", "number")]
    [InlineData("mesh.parts", "[]", "mesh.parts", "0 of 1")]
    [InlineData("landmarks.menton", "null", "landmarks.menton", "array")]
    [InlineData("version", "2", "version", "version 2")]
    [InlineData("format", "\"other\"", "format", "'other'")]
    [InlineData("joints", "[]", "joints", "no joint")]
    public void Broken_template_is_refused_by_element(string path, string? value, string element, string reason)
    {
        TemplateFormatException error = Assert.Throws<TemplateFormatException>(() => Read(root => Set(root, path, value)));
        Assert.Equal("small.json", error.File);
        Assert.Equal(element, error.Element);
        Assert.Contains(reason, error.Reason, StringComparison.Ordinal);
    }

    [Fact]
    public void Child_before_its_parent_is_refused()
    {
        TemplateFormatException error = Assert.Throws<TemplateFormatException>(() => Read(root =>
        {
            JsonArray joints = root["joints"]!.AsArray();
            JsonNode first = joints[0]!;
            joints.RemoveAt(0);
            joints.Add(first);
        }));
        Assert.Equal("joint 'leaf'", error.Element);
    }

    [Fact]
    public void Text_that_is_not_json_is_refused_by_line()
    {
        TemplateFormatException error = Assert.Throws<TemplateFormatException>(
            () => TemplateReader.Read("small.json", Encoding.UTF8.GetBytes("{\n\"format\": }")));
        Assert.Equal("line 2", error.Element);
    }

    private static TemplateHead Read(Action<JsonNode> change)
    {
        JsonNode root = JsonNode.Parse(Small)!;
        change(root);
        return TemplateReader.Read("small.json", Encoding.UTF8.GetBytes(root.ToJsonString()));
    }

    // Path of members and indices; null takes the member away.
    private static void Set(JsonNode root, string path, string? value)
    {
        string[] steps = path.Replace("[", ".", StringComparison.Ordinal).Replace("]", string.Empty, StringComparison.Ordinal).Split('.');
        JsonNode node = root;
        foreach (string step in steps[..^1])
        {
            node = int.TryParse(step, out int index) ? node[index]! : node[step]!;
        }

        if (value is null)
        {
            node.AsObject().Remove(steps[^1]);
        }
        else
        {
            node[steps[^1]] = JsonNode.Parse(value);
        }
    }
}
