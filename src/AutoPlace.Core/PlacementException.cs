namespace AutoPlace;

/// <summary>A head or file that can't be used; subtypes say why. The message names file, element and reason.</summary>
public abstract class PlacementException : Exception
{
    /// <summary>Makes the exception.</summary>
    /// <param name="message">File, element and reason, for a person.</param>
    /// <param name="inner">What caused it, if anything.</param>
    protected PlacementException(string message, Exception? inner = null)
        : base(message, inner)
    {
    }
}
