using System.Text.Json;
using AutoPlace.Service.Hosting;

namespace AutoPlace.Service.Placements;

/// <summary>A placement's events as text/event-stream (HTML, 9.2): the present state first, then what happens.</summary>
internal static class EventStream
{
    private static readonly TimeSpan Silence = TimeSpan.FromSeconds(15);

    /// <summary>Writes the stream until the client or the process goes.</summary>
    public static async Task WriteAsync(
        HttpResponse response, PlacementEvents.Subscription subscription, Placement present, CancellationToken gone, CancellationToken stopping)
    {
        using var ended = CancellationTokenSource.CreateLinkedTokenSource(gone, stopping);
        response.ContentType = "text/event-stream";
        response.Headers.CacheControl = "no-store";
        try
        {
            await Write(response, new PlacementEvent("state", present), ended.Token);
            while (true)
            {
                using var patience = CancellationTokenSource.CreateLinkedTokenSource(ended.Token);
                patience.CancelAfter(Silence);
                PlacementEvent? next = null;
                try
                {
                    next = await subscription.Events.ReadAsync(patience.Token);
                }
                catch (OperationCanceledException) when (!ended.IsCancellationRequested)
                {
                    await response.WriteAsync(": still here\n\n", ended.Token);
                    await response.Body.FlushAsync(ended.Token);
                    continue;
                }

                await Write(response, next, ended.Token);
            }
        }
        catch (OperationCanceledException) when (ended.IsCancellationRequested)
        {
            return; // a stream has no other end
        }
    }

    private static async Task Write(HttpResponse response, PlacementEvent happened, CancellationToken cancellation)
    {
        string json = JsonSerializer.Serialize(happened.Content, ServiceJson.Options);
        await response.WriteAsync($"event: {happened.Name}\ndata: {json}\n\n", cancellation);
        await response.Body.FlushAsync(cancellation);
    }
}
