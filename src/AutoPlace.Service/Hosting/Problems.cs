using System.Text.Json;
using AutoPlace.Export;
using AutoPlace.Import;
using AutoPlace.Registration.Correcting;
using AutoPlace.Template;
using Microsoft.AspNetCore.Diagnostics;
using Microsoft.AspNetCore.Mvc;
using Microsoft.Data.Sqlite;

namespace AutoPlace.Service.Hosting;

/// <summary>What goes wrong, as application/problem+json (RFC 9457) with the failing element and the reason.</summary>
internal sealed class Problems(IProblemDetailsService writer, ILogger<Problems> log) : IExceptionHandler
{
    /// <summary>Seconds after which it is worth trying again when there is no room.</summary>
    private const int RetryAfterSeconds = 5;

    /// <summary>A problem that stands for an exception.</summary>
    public static ProblemDetails Of(Exception exception) => exception switch
    {
        RequestRefused e => Of(e.Status, e.Message, e.Element, e.Element is null ? null : e.Message, e.Current),
        MeshFormatException e => Of(StatusCodes.Status422UnprocessableEntity, e.Message, e.Element, e.Reason),
        HeadNotFoundException e => Of(StatusCodes.Status422UnprocessableEntity, e.Message, null, e.Reason),
        PlacementFormatException e => Of(StatusCodes.Status422UnprocessableEntity, e.Message, e.Element, e.Reason),
        TemplateFormatException e => Of(StatusCodes.Status422UnprocessableEntity, e.Message, e.Element, e.Reason),
        CorrectionException e => Of(StatusCodes.Status422UnprocessableEntity, e.Message, e.Subject, e.Reason),
        BadHttpRequestException { InnerException: JsonException j } e => Of(e.StatusCode, $"The body isn't as described: {Plain(j)}.", j.Path, Plain(j)),
        BadHttpRequestException e => Of(e.StatusCode, e.Message),
        InvalidDataException e => Of(StatusCodes.Status400BadRequest, e.Message),
        IOException or SqliteException => Of(StatusCodes.Status503ServiceUnavailable, "The data folder takes nothing at the moment: it may be full."),
        _ => Of(StatusCodes.Status500InternalServerError, "Something went wrong inside the program; its log says what."),
    };

    /// <inheritdoc/>
    public async ValueTask<bool> TryHandleAsync(HttpContext httpContext, Exception exception, CancellationToken cancellationToken)
    {
        if (exception is OperationCanceledException && httpContext.RequestAborted.IsCancellationRequested)
        {
            return true; // nobody is there to read an answer
        }

        ProblemDetails problem = Of(exception);
        httpContext.Response.StatusCode = problem.Status!.Value;
        if (problem.Status >= StatusCodes.Status500InternalServerError)
        {
            ServiceLog.RequestFailed(log, exception, httpContext.Request.Method, problem.Status.Value);
        }

        int? wait = (exception as RequestRefused)?.RetryAfter ?? (problem.Status == StatusCodes.Status503ServiceUnavailable ? RetryAfterSeconds : null);
        if (wait is { } seconds)
        {
            httpContext.Response.Headers.RetryAfter = seconds.ToString(System.Globalization.CultureInfo.InvariantCulture);
        }

        return await writer.TryWriteAsync(new ProblemDetailsContext { HttpContext = httpContext, ProblemDetails = problem });
    }

    // The serializer speaks of its own types; a client doesn't know them.
    private static string Plain(JsonException fault) =>
        fault.Message.Contains("could not be mapped", StringComparison.Ordinal) ? "there is no such member"
        : fault.Message.Contains("type discriminator", StringComparison.Ordinal) ? "there is no such kind"
        : fault.Message.Contains("could not be converted", StringComparison.Ordinal) ? "the value is of the wrong kind"
        : fault.Message.Contains("missing required properties", StringComparison.Ordinal) ? "missing: " + fault.Message[(fault.Message.IndexOf(':', StringComparison.Ordinal) + 1)..].Trim().TrimEnd('.')
        : fault.Message.Contains("null", StringComparison.Ordinal) ? "null isn't allowed"
        : fault.Message.Split(". Path:")[0].TrimEnd('.');

    private static ProblemDetails Of(int status, string detail, string? element = null, string? reason = null, int? current = null)
    {
        var problem = new ProblemDetails
        {
            Status = status,
            Title = Microsoft.AspNetCore.WebUtilities.ReasonPhrases.GetReasonPhrase(status),
            Detail = detail,
        };
        Add("element", element);
        Add("reason", reason);
        Add("current", current);
        return problem;

        void Add(string name, object? value)
        {
            if (value is not null)
            {
                problem.Extensions[name] = value;
            }
        }
    }
}
