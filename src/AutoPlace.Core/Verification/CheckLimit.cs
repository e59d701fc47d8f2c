namespace AutoPlace.Verification;

/// <summary>A named limit of a check.</summary>
/// <param name="Value">The limit.</param>
/// <param name="Unit">Unit of values that are judged by it ("IOD", "degrees", "ratio", "count").</param>
/// <param name="Origin">Where the value comes from: a source, or our own choice and its reason.</param>
internal sealed record CheckLimit(double Value, string Unit, string Origin)
{
    internal Finding Finding(string check, Severity severity, string subject, double value, string message) =>
        new(check, severity, subject, value, Value, Unit, message);
}
