namespace AutoPlace.Landmarks;

/// <summary>A landmark model that can't be used; the message names the file and the reason.</summary>
public sealed class LandmarkModelException : PlacementException
{
    /// <summary>Makes the exception.</summary>
    /// <param name="message">File and reason, for a person.</param>
    /// <param name="inner">What caused it, if anything.</param>
    public LandmarkModelException(string message, Exception? inner = null)
        : base(message, inner)
    {
    }
}
