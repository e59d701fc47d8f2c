namespace AutoPlace.Service.Hosting;

/// <summary>What is logged: identifiers and numbers, never names or contents of files.</summary>
internal static partial class ServiceLog
{
    [LoggerMessage(1, LogLevel.Warning, "{Count} files without a row were removed")]
    public static partial void OrphansRemoved(ILogger log, int count);

    [LoggerMessage(2, LogLevel.Error, "the file {Sha256} is missing that a row names")]
    public static partial void FileMissing(ILogger log, string sha256);

    [LoggerMessage(3, LogLevel.Error, "{Method} ended with {Status}")]
    public static partial void RequestFailed(ILogger log, Exception exception, string method, int status);

    [LoggerMessage(4, LogLevel.Information, "placement {Placement}: {State} in {Milliseconds:0} ms")]
    public static partial void PlacementEnded(ILogger log, string placement, string state, double milliseconds);

    [LoggerMessage(5, LogLevel.Error, "placement {Placement} failed inside the program")]
    public static partial void PlacementBroke(ILogger log, Exception exception, string placement);

    [LoggerMessage(6, LogLevel.Information, "{Count} placements that were queued or running go on")]
    public static partial void Resumed(ILogger log, int count);

    [LoggerMessage(7, LogLevel.Information, "head {Head} was deleted: its retention time is over")]
    public static partial void Expired(ILogger log, string head);

    [LoggerMessage(8, LogLevel.Information, "placement {Placement}: revision {Revision} in {Milliseconds:0} ms")]
    public static partial void Revised(ILogger log, string placement, int revision, double milliseconds);

    [LoggerMessage(9, LogLevel.Error, "heads whose retention time is over couldn't be deleted; the next sweep tries again")]
    public static partial void SweepFailed(ILogger log, Exception exception);
}
