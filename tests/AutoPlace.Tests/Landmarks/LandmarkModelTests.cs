using System.Text.Json.Nodes;
using AutoPlace.Landmarks;
using Xunit;

namespace AutoPlace.Tests.Landmarks;

public sealed class LandmarkModelTests : IDisposable
{
    private readonly string _folder = Directory.CreateTempSubdirectory("landmark-model-").FullName;

    public LandmarkModelTests()
    {
        foreach (string file in new[] { "model.json", "model.onnx" })
        {
            File.Copy(Path.Combine(TestModel.Folder, file), Path.Combine(_folder, file));
        }
    }

    private string Description => Path.Combine(_folder, LandmarkModel.DescriptionFile);

    public void Dispose() => Directory.Delete(_folder, recursive: true);

    [Fact]
    public void Whole_model_opens_and_says_what_it_is()
    {
        var model = LandmarkModel.Open(_folder);
        Assert.Equal("tiny", model.Name);
        Assert.Equal(64, model.Sha256.Length);
    }

    [Fact]
    public void Another_contract_is_refused_and_both_are_named()
    {
        string other = new('0', 64);
        Edit(root => root["contract"] = other);
        string message = Assert.Throws<LandmarkModelException>(() => LandmarkModel.Open(_folder)).Message;
        Assert.Contains(other, message, StringComparison.Ordinal);
        Assert.Contains(ModelContract.Sha256, message, StringComparison.Ordinal);
        Assert.Contains("model.json", message, StringComparison.Ordinal);
    }

    [Theory]
    [InlineData("format")]
    [InlineData("version")]
    [InlineData("contract")]
    [InlineData("name")]
    [InlineData("onnx")]
    public void Missing_property_is_named(string property)
    {
        Edit(root => root.Remove(property));
        string message = Assert.Throws<LandmarkModelException>(() => LandmarkModel.Open(_folder)).Message;
        Assert.Contains($"'{property}'", message, StringComparison.Ordinal);
    }

    [Fact]
    public void Changed_byte_of_the_network_is_noticed()
    {
        string path = Path.Combine(_folder, "model.onnx");
        byte[] bytes = File.ReadAllBytes(path);
        bytes[^100] ^= 1;
        File.WriteAllBytes(path, bytes);
        string message = Assert.Throws<LandmarkModelException>(() => LandmarkModel.Open(_folder)).Message;
        Assert.Contains("model.onnx", message, StringComparison.Ordinal);
    }

    [Theory]
    [InlineData("../model.onnx")]
    [InlineData("")]
    public void File_elsewhere_is_refused(string file)
    {
        Edit(root => root["onnx"]!["file"] = file);
        Assert.Throws<LandmarkModelException>(() => LandmarkModel.Open(_folder));
    }

    [Fact]
    public void Missing_and_broken_descriptions_are_named()
    {
        File.WriteAllText(Description, "{");
        Assert.Contains("model.json", Assert.Throws<LandmarkModelException>(() => LandmarkModel.Open(_folder)).Message, StringComparison.Ordinal);
        File.Delete(Description);
        Assert.Contains("model.json", Assert.Throws<LandmarkModelException>(() => LandmarkModel.Open(_folder)).Message, StringComparison.Ordinal);
    }

    private void Edit(Action<JsonObject> change)
    {
        JsonObject root = JsonNode.Parse(File.ReadAllText(Description))!.AsObject();
        change(root);
        File.WriteAllText(Description, root.ToJsonString());
    }
}
