namespace AutoPlace.Registration.Correcting;

/// <summary>An edit that can't be made; the message names the joint or landmark and the reason.</summary>
public sealed class CorrectionException : PlacementException
{
    /// <summary>Makes the exception.</summary>
    /// <param name="subject">Name of the joint or landmark.</param>
    /// <param name="reason">Why it can't be edited.</param>
    public CorrectionException(string subject, string reason)
        : base($"{subject}: {reason}")
    {
        Subject = subject;
        Reason = reason;
    }

    /// <summary>Name of the joint or landmark.</summary>
    public string Subject { get; }

    /// <summary>Why it can't be edited.</summary>
    public string Reason { get; }
}
