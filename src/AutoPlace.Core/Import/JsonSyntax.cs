using System.Text.Json;

namespace AutoPlace.Import;

/// <summary>What is wrong in a text that isn't JSON.</summary>
internal static class JsonSyntax
{
    /// <summary>
    /// The reader's reason, without the place that it adds: it counts lines from 0, and messages name the line, counted from 1,
    /// as the element.
    /// </summary>
    internal static string Reason(JsonException exception)
    {
        string message = exception.Message;
        int place = message.IndexOf(" LineNumber: ", StringComparison.Ordinal);
        return place < 0 ? message : message[..place];
    }
}
