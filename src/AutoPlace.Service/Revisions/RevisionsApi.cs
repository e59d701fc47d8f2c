using System.ComponentModel;
using System.Text.Json;
using AutoPlace.Export;
using AutoPlace.Service.Hosting;
using AutoPlace.Service.Placements;
using Microsoft.AspNetCore.Http.HttpResults;

namespace AutoPlace.Service.Revisions;

/// <summary>Routes of revisions.</summary>
internal static class RevisionsApi
{
    private const int MostNameLength = 200;

    /// <summary>Adds the routes.</summary>
    public static void MapRevisions(this RouteGroupBuilder v1)
    {
        RouteGroupBuilder revisions = v1.MapGroup("/placements/{id}").WithTags("Revisions");
        revisions.MapPost("/revisions", Add)
            .WithName("addRevision").WithSummary("Edits the current revision: all edits or none. Solved and checked anew.")
            .Refuses(400, 404, 409, 413, 422, 503);
        revisions.MapGet("/revisions", List)
            .WithName("listRevisions").WithSummary("All revisions, oldest first, without their corrections.").Refuses(404, 409);
        revisions.MapGet("/revisions/{number:int}", Get)
            .WithName("getRevision").WithSummary("One revision with its placement.").Refuses(404);
        revisions.MapPatch("/revisions/{number:int}", Name)
            .WithName("nameRevision").WithSummary("Names a revision; nothing else of it ever changes.").Refuses(400, 404, 422);
        revisions.MapPost("/import", Import)
            .WithName("importCorrections").WithSummary("Takes over a placement.json or corrections.json that was corrected elsewhere.")
            .Accepts<JsonElement>("application/json")
            .Refuses(400, 404, 409, 413, 422, 503);
    }

    private static async Task<Created<RevisionAnswer>> Add(
        string id, RevisionRequest request, RevisionMaker maker, RevisionStore store, CancellationToken cancellation) =>
        Created(id, await maker.EditAsync(id, request, cancellation), store);

    private static async Task<Created<RevisionAnswer>> Import(
        string id,
        [Description("The revision that was looked at; must be the current one.")] int @base,
        HttpRequest request,
        RevisionMaker maker,
        RevisionStore store,
        CancellationToken cancellation)
    {
        using var body = new MemoryStream();
        await request.Body.CopyToAsync(body, cancellation);
        return Created(id, await maker.ImportAsync(id, @base, CorrectionsInput.Keep(PlacementOptions.Default, body.ToArray(), "body"), cancellation), store);
    }

    private static Ok<RevisionList> List(string id, PlacementStore placements, RevisionStore store)
    {
        int current = placements.Get(id).Revision ?? throw new RequestRefused(StatusCodes.Status409Conflict, "The placement isn't made yet.");
        return TypedResults.Ok(new RevisionList(current, [.. store.All(id).Select(stored => stored.Revision)]));
    }

    private static Ok<RevisionAnswer> Get(string id, int number, PlacementStore placements, RevisionStore store)
    {
        placements.Get(id);
        return TypedResults.Ok(Answer(store.Get(id, number), store));
    }

    private static Ok<PlacementRevision> Name(string id, int number, RevisionName name, RevisionStore store) => name.Name?.Length > MostNameLength
        ? throw RequestRefused.Unusable("name", $"has more than {MostNameLength} characters")
        : TypedResults.Ok(Whole(store.Name(id, number, name.Name)));

    private static Created<RevisionAnswer> Created(string id, StoredRevision stored, RevisionStore store) =>
        TypedResults.Created($"/v1/placements/{id}/revisions/{stored.Revision.Number}", Answer(stored, store));

    private static RevisionAnswer Answer(StoredRevision stored, RevisionStore store) => new(Whole(stored), ServiceJson.Raw(store.Placement(stored)));

    private static PlacementRevision Whole(StoredRevision stored) =>
        stored.Revision with { Corrections = ServiceJson.Raw(System.Text.Encoding.UTF8.GetBytes(stored.Corrections)) };
}
