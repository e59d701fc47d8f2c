using System.Text;
using System.Text.Json;
using System.Text.Json.Nodes;
using AutoPlace.Conditioning;
using AutoPlace.Export;
using AutoPlace.Geometry;
using AutoPlace.Registration.Correcting;
using AutoPlace.Template;
using Json.Schema;
using Xunit;

namespace AutoPlace.Tests.Export;

public sealed class CorrectionsJsonTests
{
    private static readonly Corrections Made = Corrections.None
        .With(new JointCorrection
        {
            Joint = "cheilion_left",
            Position = new Vector3d(0.4123456789, -1.1, 0.05),
            AtlasPoint = new Vector3d(0.41, -1.09, 0.04),
            Lift = -0.012,
            Influence = 0.25,
            Note = "Ada, 3 March: \"thinner\" ä",
        })
        .With(new JointCorrection { Joint = "pronasale", Rotation = new Rotation3d(0.5, 0.5, -0.5, 0.5) })
        .With(new JointCorrection
        {
            Joint = "jaw_hinge",
            Position = new Vector3d(0, -0.7, -0.8),
            AtlasPoint = new Vector3d(0, -0.7, -0.8),
            Rotation = Rotation3d.Identity,
            OfBodyRig = true,
            CarriesChildren = true,
        })
        .With(new LandmarkCorrection("menton", new Vector3d(0, -1.8, 0.1), new Vector3d(0, -1.82, 0.1), "seen from below"));

    public static TheoryData<string> Frames => ["z-up", "mirrored"];

    [Theory]
    [MemberData(nameof(Frames))]
    public void Written_corrections_obey_the_schema(string frame)
    {
        EvaluationResults results = Evaluate(Write(Describe(frame)));

        Assert.True(results.IsValid, JsonSerializer.Serialize(results.Details?.Where(d => !d.IsValid)));
    }

    [Theory]
    [InlineData("""{"format": "autoplace.corrections", "version": 1}""")]
    [InlineData("[]")]
    public void Schema_refuses_what_are_no_corrections(string json) =>
        Assert.False(Evaluate(Encoding.UTF8.GetBytes(json)).IsValid);

    [Theory]
    [MemberData(nameof(Frames))]
    public void Reading_and_writing_again_gives_the_same_bytes(string frame)
    {
        byte[] written = Write(Describe(frame));

        Assert.Equal(written, Write(Read(written)));
    }

    /// <summary>Through the file and back, and once more: what was rounded once stays the same to the last digit.</summary>
    [Theory]
    [MemberData(nameof(Frames))]
    public void Corrections_come_back_from_the_file_and_give_the_same_file_again(string frame)
    {
        HeadFrame at = Frame(frame);
        CorrectionsDocument document = Describe(frame);

        Corrections back = CorrectionCoordinates.ToHeadFrame(Read(Write(document)), at);

        Assert.Equal(Made.Joints.Keys, back.Joints.Keys);
        foreach (JointCorrection made in Made.Joints.Values)
        {
            JointCorrection read = back.Joints[made.Joint];
            Assert.Equal((made.OfBodyRig, made.CarriesChildren, made.Note), (read.OfBodyRig, read.CarriesChildren, read.Note));
            Assert.Equal(made.LocksPosition, read.LocksPosition);
            Assert.Equal(made.LocksRotation, read.LocksRotation);
            Assert.True(made.Position is null || Vector3d.Distance(made.Position.Value, read.Position!.Value) < 1e-6);
            Assert.True(made.Rotation is null || Rotation3d.AngleDegrees(made.Rotation.Value, read.Rotation!.Value) < 1e-6);
            Assert.Equal(made.Lift ?? 0, read.Lift ?? 0, 1e-6);
            Assert.Equal(made.Influence ?? 0, read.Influence ?? 0, 1e-6);
        }

        Assert.Equal(Write(document), Write(Describe(frame, back)));
    }

    [Fact]
    public void Joints_stand_in_the_order_of_their_names_and_vectors_on_one_line()
    {
        string text = Encoding.UTF8.GetString(Write(Describe("z-up")));

        string[] names = [.. JsonNode.Parse(text)!["joints"]!.AsArray().Select(j => (string)j!["name"]!)];
        Assert.Equal(["cheilion_left", "jaw_hinge", "pronasale"], names);
        Assert.Contains("\"atlasPoint\": [0.41, -1.09, 0.04],\n", text, StringComparison.Ordinal);
        Assert.EndsWith("}\n", text, StringComparison.Ordinal);
    }

    /// <summary>What a person writes by hand: what is given is locked, and what isn't is left to the program.</summary>
    [Fact]
    public void Entry_may_have_a_position_or_a_rotation_alone()
    {
        JsonNode root = JsonNode.Parse(Write(Describe("z-up")))!;
        root["joints"] = JsonNode.Parse("""[{"name": "pronasale", "position": [1, 2, 3]}, {"name": "vertex", "rotation": [0, 0, 0, 1], "lock": {"bodyRig": true}}]""");
        root["landmarks"] = JsonNode.Parse("""[{"name": "menton", "position": [1, 2, 3]}]""");
        byte[] written = Encoding.UTF8.GetBytes(root.ToJsonString());

        CorrectionsDocument read = Read(written);

        Assert.True(Evaluate(written).IsValid);
        Assert.Equal(new CorrectedJoint { Name = "pronasale", Position = new Vector3d(1, 2, 3) }, read.Joints[0]);
        Assert.Equal(new CorrectedJoint { Name = "vertex", Rotation = Rotation3d.Identity, OfBodyRig = true }, read.Joints[1]);
        Assert.Equal(new CorrectedLandmark("menton", new Vector3d(1, 2, 3), null, null), Assert.Single(read.Landmarks));
        byte[] again = Write(read);
        Assert.True(Evaluate(again).IsValid);
        Assert.Equal(again, Write(Read(again)));
    }

    [Theory]
    [InlineData("joints[0].position", "expected an array")]
    [InlineData("joints[2]", "pronasale has neither a position nor a rotation")]
    [InlineData("joints[1].position", "jaw_hinge lies 1.587E+39 interocular distances from the head, more than 1000")]
    [InlineData("joints[0].atlasPoint", "cheilion_left lies 1E+40 interocular distances from the atlas' middle, more than 10000")]
    [InlineData("joints[0].lift", "1E+40 is more than 10000 interocular distances")]
    [InlineData("landmarks[0].position", "menton lies 1.587E+39 interocular distances from the head, more than 1000")]
    [InlineData("landmarks[0].atlasPoint", "menton lies 1E+40 interocular distances from the atlas' middle, more than 10000")]
    [InlineData("joints[0].lock.position", "the position is locked but not given")]
    [InlineData("joints[2].lock.rotation", "a rotation is given but not locked")]
    [InlineData("joints[0]", "unknown key \"colour\"")]
    [InlineData("joints[0].influence", "-1 is negative")]
    [InlineData("joints", "\"jaw_hinge\" is used twice")]
    [InlineData("version", "this program reads version 1 only")]
    [InlineData("format", "expected \"autoplace.corrections\"")]
    public void Reader_names_the_faulty_element(string element, string reason)
    {
        JsonNode root = JsonNode.Parse(Write(Describe("z-up")))!;
        JsonObject joint = root["joints"]![0]!.AsObject();
        switch (element)
        {
            case "joints[0].position": joint["position"] = "here"; break;
            case "joints[2]": root["joints"]![2] = new JsonObject { ["name"] = "pronasale", ["note"] = "nothing fixed" }; break;
            case "joints[1].position": root["joints"]![1]!["position"]![0] = 1e40; break;
            case "joints[0].atlasPoint": joint["atlasPoint"]![0] = 1e40; break;
            case "joints[0].lift": joint["lift"] = 1e40; break;
            case "landmarks[0].position": root["landmarks"]![0]!["position"]![0] = 1e40; break;
            case "landmarks[0].atlasPoint": root["landmarks"]![0]!["atlasPoint"]![2] = 1e40; break;
            case "joints[0].lock.position": joint["position"] = null; break;
            case "joints[2].lock.rotation": root["joints"]![2]!["lock"]!["rotation"] = false; break;
            case "joints[0]": joint["colour"] = "red"; break;
            case "joints[0].influence": joint["influence"] = -1; break;
            case "joints": joint["name"] = "jaw_hinge"; break;
            case "version": root["version"] = 2; break;
            case "format": root["format"] = "autoplace.placement"; break;
        }

        var error = Assert.Throws<PlacementFormatException>(() => Read(Encoding.UTF8.GetBytes(root.ToJsonString())));

        Assert.Equal(element, error.Element);
        Assert.Contains(reason, error.Reason, StringComparison.Ordinal);
    }

    private static HeadFrame Frame(string frame) => frame == "mirrored" ? SampleHead.Mirrored : SampleHead.ZUpCentimetres;

    private static CorrectionsDocument Describe(string frame, Corrections? made = null) =>
        CorrectionCoordinates.Describe(SampleHead.Result(Frame(frame)) with { Corrections = made ?? Made });

    private static byte[] Write(CorrectionsDocument document)
    {
        using var stream = new MemoryStream();
        CorrectionsJson.Write(document, stream);
        return stream.ToArray();
    }

    private static CorrectionsDocument Read(byte[] json) => CorrectionsJson.Read(new MemoryStream(json), "sample.json");

    private static EvaluationResults Evaluate(byte[] json)
    {
        using JsonDocument document = JsonDocument.Parse(json);
        return JsonSchema.FromText(CorrectionsJson.Schema())
            .Evaluate(document.RootElement, new EvaluationOptions { OutputFormat = OutputFormat.List });
    }
}
