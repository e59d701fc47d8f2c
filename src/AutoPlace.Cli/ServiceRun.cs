using AutoPlace.Export;
using AutoPlace.Service;
using Microsoft.AspNetCore.Builder;
using Microsoft.Data.Sqlite;
using Microsoft.Extensions.DependencyInjection;
using Microsoft.Extensions.Hosting;

namespace AutoPlace.Cli;

/// <summary>Runs the service until the user ends it.</summary>
internal static class ServiceRun
{
    /// <summary>Runs it.</summary>
    /// <exception cref="OutputException">The data folder can't be used.</exception>
    internal static int Run(ServiceOptions options, CommandSession session)
    {
        using PlacementPipeline pipeline = PlacementPipeline.Open();
        WebApplication app;
        try
        {
            app = ServiceHost.Build(options, pipeline);
        }
        catch (ArgumentException e)
        {
            session.Error.WriteLine(e.Message);
            return ExitCode.WrongUsage;
        }
        catch (Exception e) when (e is IOException or UnauthorizedAccessException or InvalidOperationException or SqliteException)
        {
            throw new OutputException(options.DataFolder, e.Message, e);
        }

        using (app)
        {
            try
            {
                app.StartAsync(session.Cancellation).GetAwaiter().GetResult();
            }
            catch (Exception e) when (e is IOException or InvalidOperationException or FormatException)
            {
                session.Error.WriteLine($"--urls: {e.Message}"); // taken, or no address
                return ExitCode.WrongUsage;
            }

            foreach (string address in app.Urls)
            {
                session.Output.WriteLine(address);
            }

            session.Output.Flush();
            WaitHandle.WaitAny([session.Cancellation.WaitHandle, app.Lifetime.ApplicationStopping.WaitHandle]);
            AggregateException? fault = app.Services.GetServices<IHostedService>().OfType<BackgroundService>()
                .Select(part => part.ExecuteTask?.Exception).FirstOrDefault(failed => failed is not null);
            app.StopAsync(CancellationToken.None).GetAwaiter().GetResult();
            if (fault is not null)
            {
                session.Error.WriteLine($"a part of the service failed, so it ended: {fault.InnerException!.Message}");
                return ExitCode.InternalError;
            }
        }

        return ExitCode.Placed;
    }
}
