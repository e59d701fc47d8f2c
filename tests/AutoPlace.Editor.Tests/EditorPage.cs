using System.Text.Json;
using Microsoft.Playwright;
using SixLabors.ImageSharp;
using SixLabors.ImageSharp.PixelFormats;

namespace AutoPlace.Editor.Tests;

/// <summary>What the page says it shows.</summary>
internal sealed record Shown(string Screen, int? Revision, int? Current, string? Region, string[] Chosen, bool Away, int Triangles);

/// <summary>Work of the page's handlers: number of drag events, milliseconds of one, frames a second.</summary>
internal sealed record Stats(int Count, double Median, double Max, double Fps);

/// <summary>The editor in a window: what a person does with it, and what it shows.</summary>
internal sealed class EditorPage : IAsyncDisposable
{
    private static readonly JsonSerializerOptions Json = new(JsonSerializerDefaults.Web);
    private readonly List<string> _troubles = [];

    /// <summary>Listens to a window.</summary>
    internal EditorPage(IPage page)
    {
        Page = page;
        page.PageError += (_, error) => _troubles.Add(error);
        page.Console += (_, message) =>
        {
            // What the browser itself says about requests that failed is expected while the service is away.
            if (message.Type == "error" && !message.Text.StartsWith("Failed to load resource", StringComparison.Ordinal))
            {
                _troubles.Add(message.Text);
            }
        };
    }

    /// <summary>The window.</summary>
    internal IPage Page { get; }

    /// <summary>Errors that no one caught, and what the page wrote to the console as an error.</summary>
    internal IReadOnlyList<string> Troubles => _troubles;

    /// <summary>Waits until the head is placed and drawn.</summary>
    internal async Task PlacedAsync()
    {
        await Page.WaitForFunctionAsync("() => window.autoplace.shown().screen === 'plate'");
        await SettledAsync();
    }

    /// <summary>Waits until nothing is on its way and everything is drawn.</summary>
    internal Task SettledAsync() => Page.EvaluateAsync("() => window.autoplace.settled()");

    /// <summary>What is shown.</summary>
    internal Task<Shown> ShownAsync() => ReadAsync<Shown>("window.autoplace.shown()");

    /// <summary>Work of the handlers so far.</summary>
    internal Task<Stats> StatsAsync() => ReadAsync<Stats>("window.autoplace.stats");

    /// <summary>A joint's position in the shown revision, the file's coordinates.</summary>
    internal Task<double[]> PositionAsync(string joint) => ReadAsync<double[]>($"window.autoplace.position('{joint}')");

    /// <summary>Where a joint is in the window, pixels.</summary>
    internal async Task<(float X, float Y)> WhereIsAsync(string joint)
    {
        Dictionary<string, float> at = await ReadAsync<Dictionary<string, float>>($"window.autoplace.whereIs('{joint}')");
        return (at["x"], at["y"]);
    }

    /// <summary>Clicks what has a key, and waits for what follows.</summary>
    internal async Task ClickAsync(string key)
    {
        await Page.ClickAsync($"[data-key='{key}']");
        await SettledAsync();
    }

    /// <summary>Presses a key, and waits for what follows.</summary>
    internal async Task PressAsync(string key)
    {
        await Page.Keyboard.PressAsync(key);
        await SettledAsync();
    }

    /// <summary>Picks a region, or all with an empty name.</summary>
    internal async Task PickRegionAsync(string region)
    {
        await Page.ClickAsync($"[data-region='{region}']");
        await SettledAsync();
    }

    /// <summary>Clicks a joint on the plate.</summary>
    internal async Task ClickJointAsync(string joint)
    {
        (float x, float y) = await WhereIsAsync(joint);
        await Page.Mouse.ClickAsync(x, y);
        await SettledAsync();
    }

    /// <summary>Drags a joint by some pixels.</summary>
    internal async Task DragAsync(string joint, float right, float down, bool settle = true)
    {
        (float x, float y) = await WhereIsAsync(joint);
        await Page.Mouse.MoveAsync(x, y);
        await Page.Mouse.DownAsync();
        await Page.Mouse.MoveAsync(x + right, y + down, new() { Steps = 4 });
        await Page.Mouse.UpAsync();
        if (settle)
        {
            await SettledAsync();
        }
    }

    /// <summary>Downloads a file of the shown revision by its link.</summary>
    internal async Task<byte[]> DownloadAsync(string file)
    {
        await Page.ClickAsync("#tab-files");
        IDownload download = await Page.RunAndWaitForDownloadAsync(() => Page.ClickAsync($"[data-file='{file}']"));
        return await File.ReadAllBytesAsync(await download.PathAsync());
    }

    /// <summary>What the status line says.</summary>
    internal async Task<string> SaidAsync() => string.Concat(await Page.Locator(".said").AllTextContentsAsync());

    /// <summary>The window as a picture; also kept as a PNG where the variable AUTOPLACE_SCREENSHOTS names a folder.</summary>
    internal async Task<Image<Rgb24>> PictureAsync(string name)
    {
        byte[] png = await Page.ScreenshotAsync();
        if (Environment.GetEnvironmentVariable("AUTOPLACE_SCREENSHOTS") is { Length: > 0 } folder)
        {
            Directory.CreateDirectory(folder);
            await File.WriteAllBytesAsync(Path.Combine(folder, name + ".png"), png);
        }

        return Image.Load<Rgb24>(png);
    }

    /// <inheritdoc/>
    public async ValueTask DisposeAsync() => await Page.Context.DisposeAsync();

    private async Task<T> ReadAsync<T>(string expression) =>
        JsonSerializer.Deserialize<T>(await Page.EvaluateAsync<string>($"() => JSON.stringify({expression})"), Json)!;
}
