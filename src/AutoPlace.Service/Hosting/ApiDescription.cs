using Microsoft.AspNetCore.OpenApi;
using Microsoft.OpenApi;

namespace AutoPlace.Service.Hosting;

/// <summary>The OpenAPI description, as far as the routes don't say it themselves.</summary>
internal static class ApiDescription
{
    /// <summary>Sets options.</summary>
    public static void Configure(OpenApiOptions options)
    {
        options.OpenApiVersion = OpenApiSpecVersion.OpenApi3_1;
        options.AddDocumentTransformer((document, _, _) =>
        {
            document.Info = new OpenApiInfo
            {
                Title = "AutoPlace",
                Version = "1",
                Description = "Places face-rig lattices on heads. Positions are in the head file's own coordinates and unit. Errors are application/problem+json with element and reason.",
            };
            document.Servers?.Clear();
            return Task.CompletedTask;
        });
    }
}
