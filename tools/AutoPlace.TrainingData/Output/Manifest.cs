using System.Reflection;
using System.Text.Json;

namespace AutoPlace.TrainingData.Output;

/// <summary>Says beside the shards how they came about.</summary>
internal static class Manifest
{
    private const string ModelSource = "ICT Face Model Light, (c) 2020 USC Institute for Creative Technologies, MIT licence";

    /// <summary>Writes manifest.json into the output folder, under a temporary name first.</summary>
    public static void Write(GenerationOptions options)
    {
        Directory.CreateDirectory(options.Out);
        string path = Path.Combine(options.Out, "manifest.json");
        using (FileStream stream = File.Create(path + ".tmp"))
        using (var json = new Utf8JsonWriter(stream, new JsonWriterOptions { Indented = true }))
        {
            json.WriteStartObject();
            json.WriteString("format", "autoplace.training-views");
            json.WriteNumber("version", 1);
            json.WriteString("generator", Assembly.GetExecutingAssembly().GetName().Version?.ToString());
            json.WriteString("source", ModelSource);
            json.WriteNumber("seed", options.Seed);
            json.WriteBoolean("heldOut", options.HeldOut);
            json.WriteBoolean("survey", options.Survey);
            json.WriteNumber("shards", options.Shards);
            json.WriteNumber("shardRecords", options.ShardRecords);
            json.WriteNumber("viewsPerHead", options.ViewsPerHead);
            json.WriteNumber("recordBytes", RecordLayout.RecordBytes);
            json.WriteStartObject("kinds");
            json.WriteNumber("realistic", options.Kinds.Realistic);
            json.WriteNumber("strong", options.Kinds.StrongWarp);
            json.WriteNumber("stylised", options.Kinds.Stylised);
            json.WriteNumber("wrongFrame", options.Kinds.WrongFrame);
            json.WriteNumber("nonHead", options.Kinds.NonHead);
            json.WriteEndObject();
            json.WriteEndObject();
        }

        File.Move(path + ".tmp", path, overwrite: true);
    }
}
