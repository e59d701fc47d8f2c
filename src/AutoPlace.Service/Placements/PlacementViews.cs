using System.Globalization;
using System.Numerics;
using AutoPlace.Export;
using AutoPlace.Geometry;
using AutoPlace.Rendering;
using AutoPlace.Service.Hosting;
using AutoPlace.Service.Revisions;
using AutoPlace.Service.Storage;
using Microsoft.AspNetCore.Http.HttpResults;

namespace AutoPlace.Service.Placements;

/// <summary>A landmark in a view.</summary>
/// <param name="Name">Anthropometric name.</param>
/// <param name="X">Pixels from the left.</param>
/// <param name="Y">Pixels from the top.</param>
/// <param name="Radius90">90 % radius, pixels.</param>
public sealed record ViewLandmark(string Name, double X, double Y, double Radius90);

/// <summary>A view that the network saw.</summary>
/// <param name="N">Its number in …/views/N.png.</param>
/// <param name="Name">Whole head or close, and from where.</param>
/// <param name="Width">Pixels.</param>
/// <param name="Height">Pixels.</param>
/// <param name="Landmarks">The landmarks of the current revision in it, hidden ones too.</param>
public sealed record PlacementView(int N, string Name, int Width, int Height, IReadOnlyList<ViewLandmark> Landmarks);

/// <summary>The views of a placement.</summary>
/// <param name="Views">The views.</param>
public sealed record PlacementViewList(IReadOnlyList<PlacementView> Views);

/// <summary>The views that the network saw, with what it found in them.</summary>
internal sealed class PlacementViews(PlacementStore placements, OpenPlacements open, DerivedFiles derived)
{
    private static readonly (string Name, OrthographicView View)[] All =
        [.. ViewRing.All().Select(view => ($"{view.Shown} {view.Side}", view.View))];

    /// <summary>The views with a placement's landmarks.</summary>
    public static PlacementViewList Describe(PlacementDocument document) => new([.. All.Select((view, n) => new PlacementView(
        n, view.Name, view.View.Size, view.View.Size, [.. document.Landmarks.Select(landmark => Seen(view.View, landmark, document))]))]);

    /// <summary>A view's picture.</summary>
    /// <param name="placement">A placement that is made.</param>
    /// <param name="file">N.png.</param>
    /// <param name="cancellation">Stops it.</param>
    public Task<PhysicalFileHttpResult> ServeAsync(string placement, string file, CancellationToken cancellation)
    {
        if (!file.EndsWith(".png", StringComparison.Ordinal)
            || !int.TryParse(file[..^4], NumberStyles.None, CultureInfo.InvariantCulture, out int n) || n >= All.Length)
        {
            throw RequestRefused.NotFound("view");
        }

        Placement at = placements.Get(placement);
        return at.Revision is null
            ? throw new RequestRefused(StatusCodes.Status409Conflict, "The placement isn't made yet, so nothing was seen of the head.")
            : derived.ServeAsync(placement, string.Create(CultureInfo.InvariantCulture, $"views/{n}.png"), "image/png", async () =>
                Draw((await open.GetAsync(at, cancellation)).Placed.HeadMesh, All[n].View));
    }

    private static byte[] Draw(TriangleMesh mesh, in OrthographicView view)
    {
        var buffer = new VisibilityBuffer(view.Size);
        Rasterizer.Rasterize(mesh, view, buffer);
        using var file = new MemoryStream();
        ViewImages.WriteNormals(buffer, view, mesh, VertexNormals.AngleWeighted(mesh), file);
        return file.ToArray();
    }

    private static ViewLandmark Seen(in OrthographicView view, PlacedLandmark landmark, PlacementDocument document)
    {
        Vector3 at = view.Project((Vector3)document.Head.Frame.ToHead(landmark.Position));
        double radius = landmark.Radius90 / document.Head.Frame.InterocularDistance * view.PixelsPerUnit;
        return new ViewLandmark(landmark.Name, Math.Round(at.X, 2), Math.Round(at.Y, 2), Math.Round(radius, 2));
    }
}
