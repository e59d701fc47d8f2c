using System.Text;
using AutoPlace.Service.Hosting;
using AutoPlace.Service.Placements;
using AutoPlace.Service.Templates;
using Microsoft.AspNetCore.Http.HttpResults;

namespace AutoPlace.Service.Bulks;

/// <summary>Routes of bulks.</summary>
internal static class BulksApi
{
    /// <summary>Adds the routes.</summary>
    public static void MapBulks(this RouteGroupBuilder v1)
    {
        RouteGroupBuilder bulks = v1.MapGroup("/bulks").WithTags("Bulks");
        bulks.MapPost("/", Add)
            .WithName("addBulk").WithSummary("Asks for many heads to be placed alike; they wait behind placements that somebody asked for.")
            .Refuses(400, 413, 422, 503);
        bulks.MapGet("/", (BulkStore store) => TypedResults.Ok(new BulkList(store.All())))
            .WithName("listBulks").WithSummary("All bulks, newest first, without rows.");
        bulks.MapGet("/{id}", (string id, BulkStore store) => TypedResults.Ok(store.Get(id)))
            .WithName("getBulk").WithSummary("One bulk with a row for each head, the worst first.").Refuses(404);
        bulks.MapGet("/{id}/report.csv", (string id, BulkStore store) => TypedResults.Bytes(Encoding.UTF8.GetBytes(store.Csv(id)), "text/csv; charset=utf-8"))
            .WithName("getBulkReport").WithSummary("The report on the heads that are done, as a table.").ServesFile("text/csv").Refuses(404);
        bulks.MapDelete("/{id}", Delete)
            .WithName("deleteBulk").WithSummary("Stops a bulk and deletes it with its placements; the heads stay.").Refuses(404);
    }

    private static Accepted<Bulk> Add(BulkRequest request, BulkStore store, TemplateStore templates, PlacementQueue queue)
    {
        request.Check(templates);
        (Bulk bulk, List<string> placements) = store.Add(request);
        queue.AddBulk(placements);
        return TypedResults.Accepted($"/v1/bulks/{bulk.Id}", bulk);
    }

    private static NoContent Delete(string id, BulkStore store, PlacementRemoval removal)
    {
        removal.Finish(store.Delete(id) ?? throw RequestRefused.NotFound("bulk"));
        return TypedResults.NoContent();
    }
}
