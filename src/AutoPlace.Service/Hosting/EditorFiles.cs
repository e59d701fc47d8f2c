using Microsoft.Extensions.FileProviders;

namespace AutoPlace.Service.Hosting;

/// <summary>The editor's page and what belongs to it.</summary>
internal static class EditorFiles
{
    private const string NotBuilt = "The editor isn't part of this build: install Node 20.19 or newer and build again. The interface for programs is at /openapi/v1.json.\n";

    /// <summary>Serves the editor at /, or says how to get it.</summary>
    public static void UseEditor(this WebApplication app, ServiceOptions options)
    {
        if (options.EditorFolder is not { } folder)
        {
            app.MapGet("/", () => TypedResults.Text(NotBuilt)).ExcludeFromDescription();
            return;
        }

        var files = new PhysicalFileProvider(folder);
        app.UseDefaultFiles(new DefaultFilesOptions { FileProvider = files });
        app.UseStaticFiles(new StaticFileOptions
        {
            FileProvider = files,

            // Files with a hash in their name never change; the page that names them is asked for anew.
            OnPrepareResponse = served => served.Context.Response.Headers.CacheControl =
                served.Context.Request.Path.StartsWithSegments("/assets") ? "public, max-age=31536000, immutable" : "no-cache",
        });
    }
}
