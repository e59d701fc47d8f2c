using Microsoft.AspNetCore.Mvc;

namespace AutoPlace.Service.Hosting;

/// <summary>What endpoints say about themselves, for the API description and the limits.</summary>
internal static class EndpointWords
{
    /// <summary>Lists the problems that an endpoint may answer with; 429 and 401 come from the group.</summary>
    public static RouteHandlerBuilder Refuses(this RouteHandlerBuilder endpoint, params int[] statuses)
    {
        foreach (int status in statuses)
        {
            endpoint.ProducesProblem(status);
        }

        return endpoint;
    }

    /// <summary>Says that an endpoint answers with a file.</summary>
    public static RouteHandlerBuilder ServesFile(this RouteHandlerBuilder endpoint, params string[] types) =>
        endpoint.Produces<Stream>(StatusCodes.Status200OK, types[0], types[1..]);

    /// <summary>Limits the body of a request.</summary>
    /// <param name="endpoint">The endpoint or group.</param>
    /// <param name="bytes">Most bytes.</param>
    public static T LimitBody<T>(this T endpoint, long bytes)
        where T : IEndpointConventionBuilder =>
        endpoint.WithMetadata(new RequestSizeLimitAttribute(bytes));
}
