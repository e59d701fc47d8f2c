using Microsoft.Playwright;
using Xunit;

namespace AutoPlace.Editor.Tests;

/// <summary>One browser and one service for all tests; heads are sent to it once.</summary>
public sealed class EditorFixture : IAsyncLifetime
{
    private readonly RunningService _service = new();
    private readonly Dictionary<string, string> _placements = new(StringComparer.Ordinal);
    private IPlaywright? _playwright;
    private IBrowser? _browser;

    /// <summary>The service, to be ended and started again.</summary>
    internal RunningService Service => _service;

    /// <inheritdoc/>
    public async ValueTask InitializeAsync()
    {
        if (Requirements.Missing is null)
        {
            await _service.StartAsync();
            _playwright = await Playwright.CreateAsync();
            // The watchdog takes a software renderer on a busy machine for one that hangs, and ends it.
            _browser = await _playwright.Chromium.LaunchAsync(new() { ExecutablePath = Requirements.Chromium, Args = ["--no-sandbox", "--disable-gpu-watchdog"] });
        }
    }

    /// <summary>Opens the page in a window of its own; skips the test where there is no browser.</summary>
    internal async Task<EditorPage> OpenAsync(string hash = "", int width = 1280, int height = 720, ColorScheme scheme = ColorScheme.Light)
    {
        Assert.SkipWhen(Requirements.Missing is not null, Requirements.Missing ?? "");
        IBrowserContext context = await _browser!.NewContextAsync(new()
        {
            ViewportSize = new() { Width = width, Height = height },
            ColorScheme = scheme,
            ReducedMotion = ReducedMotion.Reduce,
            AcceptDownloads = true,
        });
        // A placement takes a second; on a machine with much else to do, a minute.
        context.SetDefaultTimeout(120_000);
        var page = new EditorPage(await context.NewPageAsync());
        await page.Page.GotoAsync(_service.Address + hash);
        return page;
    }

    /// <summary>Opens a new placement on a demonstration head.</summary>
    internal async Task<EditorPage> OpenDemoAsync(string head = "maren.glb", int width = 1280, int height = 720, ColorScheme scheme = ColorScheme.Light)
    {
        EditorPage page = await OpenAsync("", width, height, scheme);
        await page.Page.ClickAsync($"[data-demo='{head}']");
        await page.PlacedAsync();
        return page;
    }

    /// <summary>Opens a placement on a demonstration head that other tests look at too and leave as it is.</summary>
    internal async Task<EditorPage> OpenSharedAsync(string head = "maren.glb", int width = 1280, int height = 720, ColorScheme scheme = ColorScheme.Light)
    {
        if (!_placements.TryGetValue(head, out string? hash))
        {
            EditorPage first = await OpenDemoAsync(head, width, height, scheme);
            _placements[head] = new Uri(first.Page.Url).Fragment.Split('&')[0];
            return first;
        }

        EditorPage page = await OpenAsync(hash, width, height, scheme);
        await page.PlacedAsync();
        return page;
    }

    /// <inheritdoc/>
    public async ValueTask DisposeAsync()
    {
        if (_browser is not null)
        {
            await _browser.DisposeAsync();
        }

        _playwright?.Dispose();
        await _service.DisposeAsync();
    }
}

/// <summary>Tests that share the fixture run one after the other.</summary>
[CollectionDefinition(Name)]
public sealed class EditorTests : ICollectionFixture<EditorFixture>
{
    /// <summary>Name of the collection.</summary>
    public const string Name = "editor";
}
