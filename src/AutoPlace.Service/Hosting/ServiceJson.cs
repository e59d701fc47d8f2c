using System.Text.Json;
using System.Text.Json.Serialization;

namespace AutoPlace.Service.Hosting;

/// <summary>How JSON is read and written: camel case, strict about names and kinds, enumerations as words.</summary>
internal static class ServiceJson
{
    /// <summary>The same for rows of the database.</summary>
    public static JsonSerializerOptions Options { get; } = Configured(new JsonSerializerOptions(JsonSerializerDefaults.Web));

    /// <summary>Sets options.</summary>
    public static JsonSerializerOptions Configured(JsonSerializerOptions options)
    {
        options.PropertyNamingPolicy = JsonNamingPolicy.CamelCase;
        options.NumberHandling = JsonNumberHandling.Strict;
        options.UnmappedMemberHandling = JsonUnmappedMemberHandling.Disallow;
        options.AllowOutOfOrderMetadataProperties = true;
        options.RespectNullableAnnotations = true;
        options.RespectRequiredConstructorParameters = true;
        options.MaxDepth = 32;
        options.Converters.Add(new JsonStringEnumConverter(JsonNamingPolicy.CamelCase, allowIntegerValues: false));
        return options;
    }

    /// <summary>Text of a value.</summary>
    public static string Write<T>(T value) => JsonSerializer.Serialize(value, Options);

    /// <summary>Value of a text that <see cref="Write{T}"/> made.</summary>
    public static T Read<T>(string json) => JsonSerializer.Deserialize<T>(json, Options)!;

    /// <summary>Contents of a JSON file, to be passed on as they are.</summary>
    public static JsonElement Raw(ReadOnlyMemory<byte> utf8)
    {
        using JsonDocument document = JsonDocument.Parse(utf8);
        return document.RootElement.Clone();
    }
}
