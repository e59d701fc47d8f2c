namespace AutoPlace.Service.Hosting;

/// <summary>Ends a request with a problem; nothing was changed.</summary>
/// <param name="status">HTTP status.</param>
/// <param name="detail">What is wrong, for a person.</param>
internal sealed class RequestRefused(int status, string detail) : Exception(detail)
{
    /// <summary>HTTP status.</summary>
    public int Status { get; } = status;

    /// <summary>The failing element, if one is to blame.</summary>
    public string? Element { get; init; }

    /// <summary>The number of the current revision, where the base was another one.</summary>
    public int? Current { get; init; }

    /// <summary>Seconds after which it is worth asking again.</summary>
    public int? RetryAfter { get; init; }

    /// <summary>There is no such thing.</summary>
    public static RequestRefused NotFound(string what) => new(StatusCodes.Status404NotFound, $"There is no such {what}.");

    /// <summary>The request says something that can't be.</summary>
    public static RequestRefused Unusable(string element, string reason) =>
        new(StatusCodes.Status422UnprocessableEntity, reason) { Element = element };
}
