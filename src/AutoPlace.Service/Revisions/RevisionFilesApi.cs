using System.Text;
using AutoPlace.Export;
using AutoPlace.Registration.Correcting;
using AutoPlace.Service.Hosting;
using AutoPlace.Service.Placements;
using AutoPlace.Service.Storage;
using Microsoft.Net.Http.Headers;

namespace AutoPlace.Service.Revisions;

/// <summary>Routes of a revision's files.</summary>
internal static class RevisionFilesApi
{
    /// <summary>Adds the routes.</summary>
    public static void MapRevisionFiles(this RouteGroupBuilder v1)
    {
        RouteGroupBuilder files = v1.MapGroup("/placements/{id}/files").WithTags("Files");
        files.MapGet("/placement.json", (string id, int? revision, RevisionFiles of) => of.Placement(id, revision))
            .WithName("getPlacementJson").ServesFile("application/json").Refuses(404, 409);
        files.MapGet("/corrections.json", (string id, int? revision, RevisionFiles of) => of.Corrections(id, revision))
            .WithName("getCorrectionsJson").ServesFile("application/json").Refuses(404, 409);
        files.MapGet("/joints.csv", (string id, int? revision, RevisionFiles of) => of.Joints(id, revision))
            .WithName("getJointsCsv").ServesFile("text/csv").Refuses(404, 409);
        files.MapGet("/placement.glb", (string id, int? revision, RevisionFiles of, CancellationToken cancellation) => of.GlbAsync(id, revision, cancellation))
            .WithName("getPlacementGlb").ServesFile("model/gltf-binary").Refuses(404, 409);
        files.MapGet("/lattice.png", (string id, int? revision, RevisionFiles of, CancellationToken cancellation) => of.PictureAsync(id, revision, cancellation))
            .WithName("getLatticePng").ServesFile("image/png").Refuses(404, 409);
        files.MapGet("/looks.json", (string id, int? revision, RevisionFiles of, CancellationToken cancellation) => of.LooksAsync(id, revision, cancellation))
            .WithName("getLooksJson").ServesFile("application/json").Refuses(404, 409);
    }
}

/// <summary>The files of revisions: those stored, and those that follow from them.</summary>
internal sealed class RevisionFiles(
    ServiceStore store, PlacementStore placements, RevisionStore revisions, OpenPlacements open, DerivedFiles derived)
{
    /// <summary>placement.json of a revision; of the current one when none is named.</summary>
    public IResult Placement(string id, int? number) => derived.Serve(Revision(id, number).Stored.Sha256, "application/json");

    /// <summary>corrections.json.</summary>
    public IResult Corrections(string id, int? number)
    {
        byte[] bytes = Encoding.UTF8.GetBytes(Revision(id, number).Stored.Corrections);
        string hash = Convert.ToHexStringLower(System.Security.Cryptography.SHA256.HashData(bytes));
        return TypedResults.Bytes(bytes, "application/json", enableRangeProcessing: true, entityTag: new EntityTagHeaderValue($"\"{hash}\""));
    }

    /// <summary>joints.csv.</summary>
    public IResult Joints(string id, int? number)
    {
        StoredRevision stored = Revision(id, number).Stored;
        return derived.Serve(id, Name(stored, "joints.csv"), "text/csv; charset=utf-8", () =>
        {
            using var json = new MemoryStream(revisions.Placement(stored));
            using var table = new MemoryStream();
            JointsCsv.Write(PlacementJson.Read(json, "placement.json"), table);
            return table.ToArray();
        });
    }

    /// <summary>placement.glb.</summary>
    public Task<IResult> GlbAsync(string id, int? number, CancellationToken cancellation) =>
        SolvedAsync(id, number, "placement.glb", "model/gltf-binary", Glb, cancellation);

    /// <summary>lattice.png.</summary>
    public Task<IResult> PictureAsync(string id, int? number, CancellationToken cancellation) =>
        SolvedAsync(id, number, "lattice.png", "image/png", result => LatticePicture.Png(result), cancellation);

    /// <summary>looks.json: joints in the order in which looking at them gains most, in the file's unit.</summary>
    public Task<IResult> LooksAsync(string id, int? number, CancellationToken cancellation) =>
        SolvedAsync(id, number, "looks.json", "application/json", Looks, cancellation);

    private async Task<IResult> SolvedAsync(
        string id, int? number, string name, string type, Func<PlacementResult, byte[]> make, CancellationToken cancellation)
    {
        (Placement at, StoredRevision stored) = Revision(id, number);
        return await derived.ServeAsync(id, Name(stored, name), type, async () =>
        {
            PlacementResult placed = (await open.GetAsync(at, cancellation)).Placed;
            return make(CorrectedPlacement.Of(placed, RevisionContent.Read(stored.Corrections, placed), cancellation));
        });
    }

    private static byte[] Looks(PlacementResult result) => Encoding.UTF8.GetBytes(ServiceJson.Write(new
    {
        looks = LookGain.Of(result.Placement).Select(look => new { joint = look.Joint, gain = look.Gain * result.Frame.InterocularDistance }),
    }));

    private byte[] Glb(PlacementResult result)
    {
        using var glb = new MemoryStream();
        GltfPlacementWriter.Write(result, () => store.Files.Open(result.Scan.Sha256), null, glb);
        return glb.ToArray();
    }

    private (Placement At, StoredRevision Stored) Revision(string id, int? number)
    {
        Placement at = placements.Get(id);
        int chosen = number ?? at.Revision ?? throw new RequestRefused(StatusCodes.Status409Conflict, "The placement isn't made yet.");
        return (at, revisions.Get(id, chosen));
    }

    private static string Name(StoredRevision stored, string name) => $"{stored.Revision.Number}/{name}";
}
