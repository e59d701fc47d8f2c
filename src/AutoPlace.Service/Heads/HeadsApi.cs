using AutoPlace.Export;
using AutoPlace.Import;
using AutoPlace.Service.Hosting;
using AutoPlace.Service.Placements;
using AutoPlace.Service.Storage;
using Microsoft.AspNetCore.Http.HttpResults;

namespace AutoPlace.Service.Heads;

/// <summary>Routes of heads.</summary>
internal static class HeadsApi
{
    /// <summary>Adds the routes.</summary>
    public static void MapHeads(this RouteGroupBuilder v1, ServiceOptions options)
    {
        RouteGroupBuilder heads = v1.MapGroup("/heads").WithTags("Heads");
        heads.MapPost("/", Upload)
            .WithName("uploadHead").WithSummary("Uploads a head: multipart/form-data with the file in the field 'file'.")
            .LimitBody(options.MostHeadBytes + (1 << 16))
            .Accepts<IFormFile>("multipart/form-data")
            .Refuses(400, 413, 415, 422, 503);
        heads.MapGet("/", (HeadStore store) => TypedResults.Ok(new HeadList(store.All())))
            .WithName("listHeads").WithSummary("All heads, newest first.");
        heads.MapGet("/{id}", (string id, HeadStore store) => TypedResults.Ok(store.Get(id)))
            .WithName("getHead").WithSummary("One head.").Refuses(404);
        heads.MapDelete("/{id}", Delete)
            .WithName("deleteHead").WithSummary("Deletes a head with its placements, revisions and files, for good.").Refuses(404);
        heads.MapGet("/{id}/mesh.glb", Mesh)
            .WithName("getHeadMesh").WithSummary("The head's parts in file coordinates: triangles, and the modelled edges as lines.")
            .ServesFile("model/gltf-binary").Refuses(404, 422);
        heads.MapGet("/{id}/views/{file}", View)
            .WithName("getHeadView").WithSummary("A normal view that the network saw, N.png with N from 0; of the placement named, else of the newest.")
            .ServesFile("image/png").Refuses(404, 409);
        RouteGroupBuilder demo = v1.MapGroup("/demo-heads").WithTags("Heads");
        demo.MapGet("/", (DemoHeads shipped) => TypedResults.Ok(shipped.List()))
            .WithName("listDemoHeads").WithSummary("The demonstration heads that come with the program.");
        demo.MapPost("/{name}", AddDemo)
            .WithName("addDemoHead").WithSummary("Adds a demonstration head as if it were uploaded.").Refuses(404, 503);
    }

    private static async Task<Created<Head>> Upload(HttpRequest request, HeadUpload upload, CancellationToken cancellation)
    {
        Head head = await upload.ReceiveAsync(request, cancellation);
        return TypedResults.Created($"/v1/heads/{head.Id}", head);
    }

    private static async Task<Created<Head>> AddDemo(string name, DemoHeads shipped, HeadUpload upload, CancellationToken cancellation)
    {
        await using Stream file = shipped.Open(name);
        Head head = await upload.KeepAsync(name, file, cancellation);
        return TypedResults.Created($"/v1/heads/{head.Id}", head);
    }

    private static NoContent Delete(string id, HeadStore store, PlacementRemoval removal)
    {
        removal.Finish(store.Delete(id) ?? throw RequestRefused.NotFound("head"));
        return TypedResults.NoContent();
    }

    private static PhysicalFileHttpResult Mesh(string id, HeadStore store, DerivedFiles derived)
    {
        Head head = store.Get(id);
        return derived.Serve(id, "mesh.glb", "model/gltf-binary", () =>
        {
            HeadScan scan = store.Scan(head);
            using var file = new MemoryStream();
            GltfScanWriter.Write(scan, file);
            return file.ToArray();
        });
    }

    private static async Task<PhysicalFileHttpResult> View(
        string id, string file, string? placement, HeadStore store, PlacementStore placements, PlacementViews views, CancellationToken cancellation)
    {
        store.Get(id);
        string chosen = placement ?? placements.NewestPlaced(id)
            ?? throw new RequestRefused(StatusCodes.Status409Conflict, "The head has no finished placement yet, so nothing was seen of it.");
        return placements.Get(chosen).HeadId == id ? await views.ServeAsync(chosen, file, cancellation) : throw RequestRefused.NotFound("placement of this head");
    }
}
