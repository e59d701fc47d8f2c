namespace AutoPlace.Export;

/// <summary>A field of a table as text with commas.</summary>
internal static class CsvField
{
    /// <summary>The field, in quotes after RFC 4180 where it needs them.</summary>
    public static string Quoted(string value) =>
        value.AsSpan().IndexOfAny(",\"\r\n") < 0 ? value : $"\"{value.Replace("\"", "\"\"", StringComparison.Ordinal)}\"";
}
