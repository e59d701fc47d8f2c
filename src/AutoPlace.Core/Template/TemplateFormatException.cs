namespace AutoPlace.Template;

/// <summary>A template file, or a lattice, that breaks the rules of the format.</summary>
public sealed class TemplateFormatException : PlacementException
{
    /// <summary>Makes the exception.</summary>
    /// <param name="file">Name of the template file as the user gave it.</param>
    /// <param name="element">The faulty element ("joint 'brow_1_left'", "rows[3].joints"), or null for the file as a whole.</param>
    /// <param name="reason">What is wrong with it.</param>
    /// <param name="inner">What caused it, if anything.</param>
    public TemplateFormatException(string file, string? element, string reason, Exception? inner = null)
        : base(element is null ? $"{file}: {reason}" : $"{file}: {element}: {reason}", inner)
    {
        File = file;
        Element = element;
        Reason = reason;
    }

    /// <summary>Name of the template file as the user gave it.</summary>
    public string File { get; }

    /// <summary>The faulty element, or null for the file as a whole.</summary>
    public string? Element { get; }

    /// <summary>What is wrong with it.</summary>
    public string Reason { get; }
}
