using System.Text.Json;
using AutoPlace.Landmarks;
using AutoPlace.TrainingData.Output;
using Xunit;

namespace AutoPlace.Tests.TrainingData;

public sealed class RecordLayoutTests
{
    [Fact]
    public void Fields_follow_one_another_without_overlap_within_the_record()
    {
        int end = 0;
        foreach (RecordField field in RecordLayout.Fields)
        {
            int width = field.Dtype switch
            {
                "uint8" or "int8" => 1,
                "uint16" or "float16" => 2,
                _ => 4,
            };
            Assert.InRange(field.Offset, end, end + 3);
            Assert.True(field.Offset % width == 0, $"{field.Name} isn't aligned");
            end = field.Offset + (width * field.Shape.Aggregate(1, (product, n) => product * n));
        }

        Assert.InRange(RecordLayout.RecordBytes, end, end + 63);
        Assert.Equal(0, RecordLayout.RecordBytes % 64);
        Assert.Equal(RecordLayout.LandmarkCount, LandmarkNames.All.Count);
    }

    [Fact]
    public void Json_says_the_same()
    {
        using JsonDocument json = JsonDocument.Parse(RecordLayout.ToJson());
        Assert.Equal(RecordLayout.RecordBytes, json.RootElement.GetProperty("recordBytes").GetInt32());
        JsonElement[] fields = [.. json.RootElement.GetProperty("fields").EnumerateArray()];
        Assert.Equal(RecordLayout.Fields.Select(f => f.Name), fields.Select(f => f.GetProperty("name").GetString()));
        Assert.Equal(RecordLayout.Fields.Select(f => f.Offset), fields.Select(f => f.GetProperty("offset").GetInt32()));
        Assert.Equal([64, 64, 3], fields.Single(f => f.GetProperty("name").GetString() == "atlas")
            .GetProperty("shape").EnumerateArray().Select(n => n.GetInt32()));
    }
}
