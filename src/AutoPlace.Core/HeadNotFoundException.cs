namespace AutoPlace;

/// <summary>A file that was read, but shows no head that could be found.</summary>
public sealed class HeadNotFoundException : PlacementException
{
    /// <summary>Makes the exception.</summary>
    /// <param name="file">Name of the file as the user gave it.</param>
    /// <param name="reason">What was looked for and not found.</param>
    public HeadNotFoundException(string file, string reason)
        : base($"{file}: {reason}")
    {
        File = file;
        Reason = reason;
    }

    /// <summary>Name of the file as the user gave it.</summary>
    public string File { get; }

    /// <summary>What was looked for and not found.</summary>
    public string Reason { get; }
}
