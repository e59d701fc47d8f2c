using Xunit;

namespace AutoPlace.Service.Tests;

/// <summary>A service with one placed head, for tests that take it as it is.</summary>
public sealed class PlacedHead : IAsyncLifetime
{
    internal RunningService Service { get; private set; } = null!;

    internal string Head { get; private set; } = "";

    internal string Placement { get; private set; } = "";

    public async ValueTask InitializeAsync()
    {
        Service = await RunningService.StartAsync();
        Head = await Service.HeadAsync();
        Placement = await Service.PlacedAsync(Head);
    }

    public ValueTask DisposeAsync() => Service.DisposeAsync();
}
