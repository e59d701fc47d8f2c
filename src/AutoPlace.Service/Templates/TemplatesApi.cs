using AutoPlace.Service.Hosting;
using Microsoft.AspNetCore.Http.HttpResults;

namespace AutoPlace.Service.Templates;

/// <summary>Routes of templates.</summary>
internal static class TemplatesApi
{
    /// <summary>Adds the routes.</summary>
    public static void MapTemplates(this RouteGroupBuilder v1, ServiceOptions options)
    {
        RouteGroupBuilder templates = v1.MapGroup("/templates").WithTags("Templates");
        templates.MapGet("/", (TemplateStore store) => TypedResults.Ok(store.All()))
            .WithName("listTemplates").WithSummary("All templates, the built-in one first.");
        templates.MapPost("/", Add)
            .WithName("addTemplate").WithSummary("Adds a template: the JSON of a template file as the body.")
            .LimitBody(options.MostTemplateBytes)
            .Accepts<System.Text.Json.JsonElement>("application/json")
            .Refuses(413, 422, 503);
        templates.MapDelete("/{id}", Delete)
            .WithName("deleteTemplate").WithSummary("Deletes a template that no placement was made with.").Refuses(404, 409);
    }

    private static async Task<Created<StoredTemplate>> Add(HttpRequest request, TemplateStore store, CancellationToken cancellation)
    {
        using var body = new MemoryStream();
        await request.Body.CopyToAsync(body, cancellation);
        StoredTemplate stored = store.Add(body.ToArray());
        return TypedResults.Created($"/v1/templates/{stored.Id}", stored);
    }

    private static NoContent Delete(string id, TemplateStore store)
    {
        store.Delete(id);
        return TypedResults.NoContent();
    }
}
