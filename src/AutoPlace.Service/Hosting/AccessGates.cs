using System.Net;
using System.Security.Cryptography;
using System.Text;

namespace AutoPlace.Service.Hosting;

/// <summary>
/// Who may ask: pages of other sites never, other computers only with the key. Without a key the service listens on loopback
/// addresses alone and takes only requests that name such an address as their host, so that no name can be rebound to it.
/// </summary>
internal static class AccessGates
{
    private const string KeyHeader = "X-Api-Key";

    /// <summary>Adds the gates, outermost first.</summary>
    public static void UseAccessGates(this WebApplication app, ServiceOptions options)
    {
        app.Use(async (context, next) =>
        {
            context.Response.OnStarting(() => AddHeaders(context.Response)); // at the end: answers to failures begin anew
            if (options.ApiKey is null && !IsLoopback(context.Request.Host.Host))
            {
                throw new RequestRefused(StatusCodes.Status400BadRequest, "The request names another host than this computer.") { Element = "Host" };
            }

            if (!HttpMethods.IsGet(context.Request.Method) && !HttpMethods.IsHead(context.Request.Method) && IsForeign(context.Request))
            {
                throw new RequestRefused(StatusCodes.Status403Forbidden, "The request comes from a page of another site.") { Element = "Origin" };
            }

            if (options.ApiKey is { } key && !context.Request.Path.StartsWithSegments("/health") && !HasKey(context.Request, key))
            {
                throw new RequestRefused(StatusCodes.Status401Unauthorized, $"The key is missing or wrong; send it as {KeyHeader}.");
            }

            await next(context);
        });
    }

    /// <summary>Whether every address to listen on is a loopback address.</summary>
    public static bool AreLoopback(IEnumerable<string> urls) => urls.All(url => Uri.TryCreate(url, UriKind.Absolute, out Uri? uri) && IsLoopback(uri.Host));

    private static bool IsLoopback(string host) =>
        host.Equals("localhost", StringComparison.OrdinalIgnoreCase) || (IPAddress.TryParse(host.Trim('[', ']'), out IPAddress? address) && IPAddress.IsLoopback(address));

    // Fetch Metadata and Origin (Fetch Standard); programs that aren't browsers send neither.
    private static bool IsForeign(HttpRequest request)
    {
        string site = request.Headers["Sec-Fetch-Site"].ToString(), origin = request.Headers.Origin.ToString();
        return site is "cross-site" or "same-site"
            || (origin.Length > 0 && !(Uri.TryCreate(origin, UriKind.Absolute, out Uri? uri) && uri.Authority.Equals(Authority(request), StringComparison.OrdinalIgnoreCase)));
    }

    // As a URI has it: without the scheme's own port.
    private static string Authority(HttpRequest request) =>
        Uri.TryCreate($"{request.Scheme}://{request.Host.Value}", UriKind.Absolute, out Uri? uri) ? uri.Authority : string.Empty;

    private static bool HasKey(HttpRequest request, string key)
    {
        string given = request.Headers[KeyHeader].ToString();
        string authorization = request.Headers.Authorization.ToString();
        if (given.Length == 0 && authorization.StartsWith("Bearer ", StringComparison.OrdinalIgnoreCase))
        {
            given = authorization["Bearer ".Length..];
        }
        else if (given.Length == 0 && authorization.StartsWith("Basic ", StringComparison.OrdinalIgnoreCase))
        {
            given = Password(authorization["Basic ".Length..]);
        }

        // Hashes have one length, so that the time doesn't tell how long the key is.
        return CryptographicOperations.FixedTimeEquals(SHA256.HashData(Encoding.UTF8.GetBytes(given)), SHA256.HashData(Encoding.UTF8.GetBytes(key)));
    }

    private static string Password(string encoded)
    {
        byte[] bytes = new byte[encoded.Length]; // more than it can be; the server limits headers
        if (!Convert.TryFromBase64String(encoded, bytes, out int length))
        {
            return string.Empty;
        }

        string pair = Encoding.UTF8.GetString(bytes, 0, length);
        return pair[(pair.IndexOf(':', StringComparison.Ordinal) + 1)..];
    }

    private static Task AddHeaders(HttpResponse response)
    {
        IHeaderDictionary headers = response.Headers;
        if (response.StatusCode == StatusCodes.Status401Unauthorized)
        {
            // Browsers ask for the key as a password; the name doesn't matter.
            headers.WWWAuthenticate = "Basic realm=\"autoplace\", charset=\"UTF-8\"";
        }

        headers.ContentSecurityPolicy =
            "default-src 'self'; img-src 'self' blob: data:; connect-src 'self' blob:; worker-src 'self' blob:; object-src 'none'; base-uri 'none'; form-action 'self'; frame-ancestors 'none'";
        headers.XContentTypeOptions = "nosniff";
        headers["Referrer-Policy"] = "no-referrer";
        headers["Cross-Origin-Opener-Policy"] = "same-origin";
        headers["Cross-Origin-Resource-Policy"] = "same-origin";
        return Task.CompletedTask;
    }
}
