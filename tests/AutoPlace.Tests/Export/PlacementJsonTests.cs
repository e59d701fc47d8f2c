using System.Text;
using System.Text.Json;
using System.Text.Json.Nodes;
using AutoPlace.Export;
using Json.Schema;
using Xunit;

namespace AutoPlace.Tests.Export;

public sealed class PlacementJsonTests
{
    public static TheoryData<string> Frames => ["z-up", "mirrored"];

    [Theory]
    [MemberData(nameof(Frames))]
    public void Written_placement_obeys_the_schema(string frame)
    {
        EvaluationResults results = Evaluate(Write(Describe(frame)));

        Assert.True(results.IsValid, JsonSerializer.Serialize(results.Details?.Where(d => !d.IsValid)));
    }

    [Theory]
    [InlineData("""{"format": "autoplace.placement", "version": 1}""")]
    [InlineData("[]")]
    public void Schema_refuses_what_is_no_placement(string json) =>
        Assert.False(Evaluate(Encoding.UTF8.GetBytes(json)).IsValid);

    [Theory]
    [MemberData(nameof(Frames))]
    public void Reading_and_writing_again_gives_the_same_bytes(string frame)
    {
        byte[] written = Write(Describe(frame));

        Assert.Equal(written, Write(Read(written)));
    }

    [Fact]
    public void Reader_returns_what_was_written()
    {
        PlacementDocument document = Describe("z-up");

        PlacementDocument read = Read(Write(document));

        Assert.Equal(document.Joints, read.Joints);
        Assert.Equal(document.Landmarks, read.Landmarks);
        Assert.Equal(document.Head.Frame, read.Head.Frame);
        Assert.Equal(document.Head.Neutral.OrderBy(n => n.Key), read.Head.Neutral.OrderBy(n => n.Key));
        Assert.Equal(document.Head.NeedsPerson.Reasons, read.Head.NeedsPerson.Reasons);
        Assert.Equal(document.Template, read.Template);
        Assert.Equal(document.Model, read.Model);
    }

    [Fact]
    public void Vectors_stand_on_one_line_and_the_text_ends_with_a_line_feed()
    {
        string text = Encoding.UTF8.GetString(Write(Describe("z-up")));

        Assert.Contains("\"origin\": [1.5, -7, 163],\n", text, StringComparison.Ordinal);
        Assert.EndsWith("}\n", text, StringComparison.Ordinal);
        Assert.DoesNotContain('\r', text);
        Assert.Contains("ä", text, StringComparison.Ordinal);
    }

    [Fact]
    public void Numbers_that_are_not_finite_are_refused()
    {
        PlacementDocument document = Describe("z-up");
        PlacementDocument broken = document with { Timings = [new StageTiming("Import", double.NaN)] };

        Assert.Throws<ArgumentException>(() => Write(broken));
    }

    [Theory]
    [InlineData("joints[3].position", "expected an array")]
    [InlineData("landmarks[2].position", " lies 1.587E+39 interocular distances from the head, more than 1000")]
    [InlineData("joints[1].position", "jaw_hinge lies 1.587E+39 interocular distances from the head, more than 1000")]
    [InlineData("joints[3].lift", "1E+40 is more than 10000 interocular distances")]
    [InlineData("joints[3].rotation", "a quaternion of length 2, not 1")]
    [InlineData("joints[3].kind", "\"bone\" is none of surface, pivot, row-parent, attachment, other")]
    [InlineData("joints[3].parent", "\"nobody\" is no earlier joint")]
    [InlineData("joints[3].name", "\"skullbase\" is used twice")]
    [InlineData("joints[3]", "unknown key \"colour\"")]
    [InlineData("rows[0].joints[1]", "there is no joint \"nobody\"")]
    [InlineData("head.interocularDistance", "0 is not positive")]
    [InlineData("head.frame", "left, up and front are not at right angles")]
    [InlineData("version", "this program reads version 1 only")]
    [InlineData("head.sha256", "not a SHA-256")]
    public void Reader_names_the_faulty_element(string element, string reason)
    {
        JsonNode root = JsonNode.Parse(Write(Describe("z-up")))!;
        JsonObject joint = root["joints"]![3]!.AsObject();
        switch (element)
        {
            case "joints[3].position": joint["position"] = "here"; break;
            case "landmarks[2].position": root["landmarks"]![2]!["position"]![1] = 1e40; break;
            case "joints[1].position": root["joints"]![1]!["position"]![1] = 1e40; break;
            case "joints[3].lift": joint["lift"] = 1e40; break;
            case "joints[3].rotation": joint["rotation"] = new JsonArray(0, 0, 0, 2); break;
            case "joints[3].kind": joint["kind"] = "bone"; break;
            case "joints[3].parent": joint["parent"] = "nobody"; break;
            case "joints[3].name": joint["name"] = "skullbase"; break;
            case "joints[3]": joint["colour"] = "red"; break;
            case "rows[0].joints[1]": root["rows"]![0]!["joints"]![1] = "nobody"; break;
            case "head.interocularDistance": root["head"]!["interocularDistance"] = 0; break;
            case "head.frame": root["head"]!["frame"]!["up"] = new JsonArray(1, 0, 0); break;
            case "version": root["version"] = 2; break;
            case "head.sha256": root["head"]!["sha256"] = "ABC"; break;
        }

        var error = Assert.Throws<PlacementFormatException>(() => Read(Encoding.UTF8.GetBytes(root.ToJsonString())));

        Assert.Equal(element, error.Element);
        Assert.Contains(reason, error.Reason, StringComparison.Ordinal);
        Assert.StartsWith("sample.json: ", error.Message, StringComparison.Ordinal);
    }

    [Fact]
    public void Each_missing_key_is_named()
    {
        byte[] written = Write(Describe("z-up"));
        foreach (string key in JsonNode.Parse(written)!.AsObject().Select(p => p.Key))
        {
            JsonObject root = JsonNode.Parse(written)!.AsObject();
            root.Remove(key);

            var error = Assert.Throws<PlacementFormatException>(() => Read(Encoding.UTF8.GetBytes(root.ToJsonString())));

            Assert.Contains($"\"{key}\" is missing", error.Message, StringComparison.Ordinal);
        }
    }

    [Fact]
    public void Text_that_is_not_JSON_is_refused_with_its_line()
    {
        var error = Assert.Throws<PlacementFormatException>(() => Read("{\n  nonsense"u8.ToArray()));

        Assert.Equal("line 2", error.Element);
    }

    internal static PlacementDocument Describe(string frame) =>
        FileCoordinates.Describe(SampleHead.Result(frame == "mirrored" ? SampleHead.Mirrored : SampleHead.ZUpCentimetres));

    internal static byte[] Write(PlacementDocument document)
    {
        using var stream = new MemoryStream();
        PlacementJson.Write(document, stream);
        return stream.ToArray();
    }

    private static PlacementDocument Read(byte[] json) => PlacementJson.Read(new MemoryStream(json), "sample.json");

    private static EvaluationResults Evaluate(byte[] json)
    {
        using JsonDocument document = JsonDocument.Parse(json);
        return JsonSchema.FromText(PlacementJson.Schema())
            .Evaluate(document.RootElement, new EvaluationOptions { OutputFormat = OutputFormat.List });
    }
}
