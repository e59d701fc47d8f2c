namespace AutoPlace.Export;

/// <summary>Results that can't be written.</summary>
public sealed class OutputException : PlacementException
{
    /// <summary>Makes the exception.</summary>
    /// <param name="path">What was to be written.</param>
    /// <param name="reason">Why it couldn't be.</param>
    /// <param name="inner">What caused it.</param>
    public OutputException(string path, string reason, Exception? inner = null)
        : base($"{path}: can't be written: {reason}", inner)
    {
        Path = path;
        Reason = reason;
    }

    /// <summary>What was to be written.</summary>
    public string Path { get; }

    /// <summary>Why it couldn't be.</summary>
    public string Reason { get; }
}
