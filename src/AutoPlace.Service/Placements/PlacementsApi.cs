using AutoPlace.Export;
using AutoPlace.Service.Heads;
using AutoPlace.Service.Hosting;
using AutoPlace.Service.Revisions;
using AutoPlace.Service.Templates;
using Microsoft.AspNetCore.Http.HttpResults;

namespace AutoPlace.Service.Placements;

/// <summary>Routes of placements.</summary>
internal static class PlacementsApi
{
    /// <summary>Adds the routes.</summary>
    public static void MapPlacements(this RouteGroupBuilder v1)
    {
        v1.MapPost("/heads/{id}/placements", Add).WithTags("Placements")
            .WithName("placeHead").WithSummary("Asks for a lattice to be placed on a head; an empty body takes the defaults.")
            .Refuses(400, 404, 413, 422, 503);
        RouteGroupBuilder placements = v1.MapGroup("/placements").WithTags("Placements");
        placements.MapGet("/", (PlacementStore store, PlacementQueue queue) => TypedResults.Ok(new PlacementList([.. store.All().Select(queue.WithStage)])))
            .WithName("listPlacements").WithSummary("All placements, newest first.");
        placements.MapGet("/{id}", Get)
            .WithName("getPlacement").WithSummary("One placement, with the placement.json of its current revision.").Refuses(404);
        placements.MapDelete("/{id}", Delete)
            .WithName("deletePlacement").WithSummary("Stops a placement that is being made, and deletes it with its revisions and files.").Refuses(404);
        placements.MapGet("/{id}/events", Events)
            .WithName("watchPlacement").WithSummary("Server-sent events: state, stage, finding, revision; the present state first.")
            .Produces<string>(StatusCodes.Status200OK, "text/event-stream").Refuses(404).DisableRequestTimeout();
        placements.MapGet("/{id}/views", Views)
            .WithName("listPlacementViews").WithSummary("The views that the network saw, with the landmarks in them.").Refuses(404, 409);
    }

    private static Accepted<Placement> Add(
        string id,
        PlacementRequest? options,
        HeadStore heads,
        TemplateStore templates,
        PlacementStore store,
        PlacementQueue queue)
    {
        options ??= new PlacementRequest();
        heads.Get(id);
        options.Check(templates);
        queue.Reserve();
        Placement placement;
        try
        {
            placement = store.Add(id, options);
        }
        catch
        {
            queue.GiveBack();
            throw;
        }

        queue.Add(placement.Id);
        return TypedResults.Accepted($"/v1/placements/{placement.Id}", placement);
    }

    private static Ok<Placement> Get(string id, PlacementStore store, PlacementQueue queue, RevisionStore revisions)
    {
        Placement placement = queue.WithStage(store.Get(id));
        return TypedResults.Ok(placement.Revision is { } number
            ? placement with { Content = ServiceJson.Raw(revisions.Placement(revisions.Get(id, number))) }
            : placement);
    }

    private static NoContent Delete(string id, PlacementStore store, PlacementRemoval removal)
    {
        Placement placement = store.Get(id);
        if (!store.Delete(id))
        {
            throw RequestRefused.NotFound("placement");
        }

        removal.Finish([placement]);
        return TypedResults.NoContent();
    }

    private static async Task Events(
        string id, HttpContext context, PlacementStore store, PlacementQueue queue, PlacementEvents events, IHostApplicationLifetime lifetime)
    {
        using PlacementEvents.Subscription subscription = events.Listen(id);
        Placement present = queue.WithStage(store.Get(id));
        await EventStream.WriteAsync(context.Response, subscription, present, context.RequestAborted, lifetime.ApplicationStopping);
    }

    private static Ok<PlacementViewList> Views(string id, PlacementStore store, RevisionStore revisions)
    {
        int number = store.Get(id).Revision ?? throw new RequestRefused(StatusCodes.Status409Conflict, "The placement isn't made yet.");
        using var file = new MemoryStream(revisions.Placement(revisions.Get(id, number)));
        return TypedResults.Ok(PlacementViews.Describe(PlacementJson.Read(file, "placement.json")));
    }
}
