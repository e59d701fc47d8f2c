namespace AutoPlace.Export;

/// <summary>A file that can't be read as a placement or corrections, or not used as one.</summary>
public sealed class PlacementFormatException : PlacementException
{
    /// <summary>Makes the exception.</summary>
    /// <param name="file">Name of the file as the user gave it.</param>
    /// <param name="element">The faulty element ("joints[12].position"), or null for the file as a whole.</param>
    /// <param name="reason">What is wrong with it.</param>
    /// <param name="inner">What caused it, if anything.</param>
    public PlacementFormatException(string file, string? element, string reason, Exception? inner = null)
        : base(element is null ? $"{file}: {reason}" : $"{file}: {element}: {reason}", inner)
    {
        File = file;
        Element = element;
        Reason = reason;
    }

    /// <summary>Name of the file as the user gave it.</summary>
    public string File { get; }

    /// <summary>The faulty element, or null for the file as a whole.</summary>
    public string? Element { get; }

    /// <summary>What is wrong with it.</summary>
    public string Reason { get; }
}
