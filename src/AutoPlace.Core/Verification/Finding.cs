namespace AutoPlace.Verification;

/// <summary>How bad a finding is.</summary>
public enum Severity
{
    /// <summary>Worth knowing.</summary>
    Info,

    /// <summary>Worth a look.</summary>
    Warning,

    /// <summary>The placement shouldn't be used as it is.</summary>
    Error,
}

/// <summary>Outcome of a check.</summary>
/// <param name="Check">Name of the check.</param>
/// <param name="Severity">How bad it is.</param>
/// <param name="Subject">Name of the joint, row or landmark concerned.</param>
/// <param name="Value">Measured value.</param>
/// <param name="Limit">Limit that the value is judged by.</param>
/// <param name="Unit">Unit of value and limit ("IOD", "degrees", "ratio", "count").</param>
/// <param name="Message">The finding and the trade's reason for the check, for a person.</param>
public sealed record Finding(string Check, Severity Severity, string Subject, double Value, double Limit, string Unit, string Message);
