using AutoPlace.Service.Storage;
using Microsoft.AspNetCore.Http.HttpResults;

namespace AutoPlace.Service.Hosting;

/// <summary>How the service is.</summary>
/// <param name="Status">"live" or "ready".</param>
/// <param name="MissingFiles">Files that rows name and that weren't there at the start.</param>
public sealed record Health(string Status, int MissingFiles);

/// <summary>Routes for those who watch the service.</summary>
internal static class HealthApi
{
    /// <summary>Adds the routes.</summary>
    public static void MapHealth(this WebApplication app)
    {
        app.MapGet("/health/live", () => TypedResults.Ok(new Health("live", 0))).WithName("getLive").WithTags("Health").WithSummary("The process answers.");
        app.MapGet("/health/ready", Ready).WithName("getReady").WithTags("Health").WithSummary("The data folder can be read and written.").Refuses(503);
        app.MapGet("/metrics", (PrometheusText metrics) => TypedResults.Text(metrics.Write(), PrometheusText.MediaType))
            .WithName("getMetrics").WithTags("Health").WithSummary("Counters in Prometheus' text format.").Produces<string>(200, "text/plain");
    }

    private static Ok<Health> Ready(ServiceStore store)
    {
        store.Database.Write(db => db.One("SELECT COUNT(*) FROM heads", row => row.GetInt64(0)));
        return TypedResults.Ok(new Health("ready", store.Swept.Missing.Count));
    }
}
