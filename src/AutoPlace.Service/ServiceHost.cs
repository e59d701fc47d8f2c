using System.Globalization;
using System.Threading.RateLimiting;
using AutoPlace.Service.Bulks;
using AutoPlace.Service.Heads;
using AutoPlace.Service.Hosting;
using AutoPlace.Service.Placements;
using AutoPlace.Service.Revisions;
using AutoPlace.Service.Storage;
using AutoPlace.Service.Templates;
using Microsoft.AspNetCore.Server.Kestrel.Core;
using Microsoft.Extensions.Logging.Console;

namespace AutoPlace.Service;

/// <summary>The service: heads, placements, revisions, templates and bulks over HTTP, and the editor's page.</summary>
public static class ServiceHost
{
    /// <summary>Puts the service together; it listens once it is started.</summary>
    /// <param name="options">Its settings.</param>
    /// <param name="pipeline">Places the heads; stays open afterwards.</param>
    /// <exception cref="ArgumentException">It would be reached from other computers without a key.</exception>
    /// <exception cref="IOException">The data folder can't be used, or another process has it.</exception>
    public static WebApplication Build(ServiceOptions options, PlacementPipeline pipeline)
    {
        ArgumentNullException.ThrowIfNull(options);
        ArgumentNullException.ThrowIfNull(pipeline);
        if (options.ApiKey is null && !AccessGates.AreLoopback(options.Urls))
        {
            throw new ArgumentException("An address that other computers reach needs an API key.", nameof(options));
        }

        WebApplicationBuilder builder = WebApplication.CreateSlimBuilder(new WebApplicationOptions { ContentRootPath = AppContext.BaseDirectory });
        AddWeb(builder, options);
        AddParts(builder.Services, options, pipeline);
        WebApplication? app = null;

        // What keeps it from starting is thrown, too: whoever starts it says so.
        builder.Logging.AddFilter("Microsoft.Extensions.Hosting.Internal.Host", _ => app?.Lifetime.ApplicationStarted.IsCancellationRequested == true);
        app = builder.Build();
        Recover(app.Services);
        Map(app, options);
        return app;
    }

    private static void AddWeb(WebApplicationBuilder builder, ServiceOptions options)
    {
        // Settings come from the options alone: a variable of the environment mustn't open another address.
        builder.Configuration.Sources.Clear();
        builder.Configuration.AddInMemoryCollection();
        builder.Logging.ClearProviders();
        builder.Logging.AddFilter("Microsoft", LogLevel.Warning).AddFilter("Microsoft.AspNetCore.Diagnostics", LogLevel.None);
        builder.Logging.Services.Configure<ConsoleLoggerOptions>(console => console.LogToStandardErrorThreshold = LogLevel.Trace);
        _ = Console.IsErrorRedirected ? builder.Logging.AddJsonConsole() : builder.Logging.AddSimpleConsole(console => console.SingleLine = true);
        builder.WebHost.UseUrls([.. options.Urls]);
        builder.WebHost.UseKestrelHttpsConfiguration();
        builder.WebHost.ConfigureKestrel(kestrel =>
        {
            kestrel.AddServerHeader = false;
            kestrel.Limits.MaxRequestBodySize = options.MostRequestBytes;
            kestrel.Limits.MaxConcurrentConnections = 512;
            kestrel.Limits.MinRequestBodyDataRate = new MinDataRate(240, TimeSpan.FromSeconds(10));
        });
        builder.Services.ConfigureHttpJsonOptions(json => ServiceJson.Configured(json.SerializerOptions));
        builder.Services.Configure<RouteHandlerOptions>(handlers => handlers.ThrowOnBadRequest = true); // so that problems name the element
        builder.Services.AddProblemDetails();
        builder.Services.AddExceptionHandler<Problems>();
        builder.Services.AddOpenApi("v1", ApiDescription.Configure);
        builder.Services.AddRequestTimeouts(timeouts => timeouts.DefaultPolicy = new()
        {
            Timeout = options.MostRequestTime,
            TimeoutStatusCode = StatusCodes.Status503ServiceUnavailable,
        });
        builder.Services.AddRateLimiter(limiter => Limit(limiter, options));
        builder.Services.Configure<HostOptions>(host => host.ShutdownTimeout = TimeSpan.FromSeconds(10));
    }

    private static void AddParts(IServiceCollection services, ServiceOptions options, PlacementPipeline pipeline)
    {
        services.AddSingleton(options);
        services.AddSingleton(_ => new ServiceStore(options.DataFolder));
        services.AddSingleton(pipeline);
        services.AddSingleton<ServiceMetrics>().AddSingleton<PrometheusText>();
        services.AddSingleton<HeadStore>().AddSingleton<HeadUpload>().AddSingleton<DemoHeads>().AddSingleton<DerivedFiles>();
        services.AddSingleton<TemplateStore>().AddSingleton<BulkStore>();
        services.AddSingleton<PlacementStore>().AddSingleton<PlacementQueue>().AddSingleton<PlacementEvents>().AddSingleton<PlacementViews>().AddSingleton<PlacementRemoval>();
        services.AddSingleton<RevisionStore>().AddSingleton<OpenPlacements>().AddSingleton<RevisionMaker>().AddSingleton<RevisionFiles>();
        services.AddHostedService<PlacementWorker>().AddHostedService<RetentionSweep>();
    }

    // Before anything is answered: what the last process left behind.
    private static void Recover(IServiceProvider services)
    {
        ILogger log = services.GetRequiredService<ILoggerFactory>().CreateLogger("AutoPlace.Service");
        ServiceStore store = services.GetRequiredService<ServiceStore>();
        services.GetRequiredService<PrometheusText>();
        if (store.Swept.Removed > 0)
        {
            ServiceLog.OrphansRemoved(log, store.Swept.Removed);
        }

        foreach (string missing in store.Swept.Missing)
        {
            ServiceLog.FileMissing(log, missing);
        }

        var placements = services.GetRequiredService<PlacementStore>();
        var queue = services.GetRequiredService<PlacementQueue>();
        if (placements.Recover() is > 0 and int resumed)
        {
            ServiceLog.Resumed(log, resumed);
        }

        queue.AddAgain(placements.Waiting(ofBulks: false));
        queue.AddBulk(placements.Waiting(ofBulks: true));
        ServiceMetrics metrics = services.GetRequiredService<ServiceMetrics>();
        metrics.Meter.CreateObservableGauge("autoplace.queue.length", () => (long)queue.Length, null, "Placements that wait, those of bulks apart.");
        metrics.Meter.CreateObservableGauge("autoplace.bulk.queue.length", () => (long)queue.BulkLength, null, "Placements of bulks that wait.");
        metrics.Meter.CreateObservableGauge("autoplace.placements.running", () => (long)queue.Running, null, "Placements that are being made.");
        metrics.Meter.CreateObservableGauge("autoplace.files.missing", () => (long)store.Swept.Missing.Count, null, "Files that rows name and that weren't there at the start.");
        metrics.Meter.CreateObservableGauge("process.memory.usage", () => Environment.WorkingSet, "By", "Memory of the process.");
    }

    private static void Map(WebApplication app, ServiceOptions options)
    {
        app.UseExceptionHandler();
        app.UseStatusCodePages();
        app.UseAccessGates(options);
        app.UseEditor(options);
        app.UseRouting();
        app.UseRateLimiter();
        app.UseRequestTimeouts();
        RouteGroupBuilder v1 = app.MapGroup("/v1").RequireRateLimiting("each address").LimitBody(options.MostRequestBytes).ProducesProblem(429);
        v1.MapHeads(options);
        v1.MapPlacements();
        v1.MapRevisions();
        v1.MapRevisionFiles();
        v1.MapTemplates(options);
        v1.MapBulks();
        app.MapHealth();
        app.MapOpenApi("/openapi/{documentName}.json");
    }

    private static void Limit(Microsoft.AspNetCore.RateLimiting.RateLimiterOptions limiter, ServiceOptions options)
    {
        limiter.RejectionStatusCode = StatusCodes.Status429TooManyRequests;
        limiter.AddPolicy("each address", context => RateLimitPartition.GetTokenBucketLimiter(
            context.Connection.RemoteIpAddress?.ToString() ?? "unknown",
            _ => new TokenBucketRateLimiterOptions
            {
                TokenLimit = options.MostRequestsAtOnce,
                TokensPerPeriod = options.MostRequestsAtOnce,
                ReplenishmentPeriod = TimeSpan.FromSeconds(2),
                QueueLimit = 0,
            }));
        limiter.OnRejected = async (rejected, cancellation) =>
        {
            int seconds = rejected.Lease.TryGetMetadata(MetadataName.RetryAfter, out TimeSpan wait) ? Math.Max(1, (int)Math.Ceiling(wait.TotalSeconds)) : 1;
            rejected.HttpContext.Response.Headers.RetryAfter = seconds.ToString(CultureInfo.InvariantCulture);
            await rejected.HttpContext.RequestServices.GetRequiredService<IProblemDetailsService>().TryWriteAsync(new ProblemDetailsContext
            {
                HttpContext = rejected.HttpContext,
                ProblemDetails = Problems.Of(new RequestRefused(StatusCodes.Status429TooManyRequests, "Too many requests at once from one address.")),
            });
        };
    }
}
