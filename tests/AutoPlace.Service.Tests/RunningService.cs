using System.Net.Http.Json;
using System.Text;
using System.Text.Json;
using Microsoft.AspNetCore.Builder;
using Xunit;

namespace AutoPlace.Service.Tests;

/// <summary>A service on a free port of this computer, over a data folder that goes away with it unless it is handed on.</summary>
internal sealed class RunningService : IAsyncDisposable
{
    /// <summary>One pipeline for all tests: opening it takes longer than most of them.</summary>
    private static readonly Lazy<PlacementPipeline> Pipeline = new(PlacementPipeline.Open);

    private readonly WebApplication _app;
    private readonly bool _keepsData;

    private RunningService(WebApplication app, string data, bool keepsData)
    {
        _app = app;
        _keepsData = keepsData;
        Data = data;
        Client = new HttpClient { BaseAddress = new Uri(app.Urls.First()), Timeout = TimeSpan.FromSeconds(60) };
    }

    /// <summary>A small demonstration head.</summary>
    public const string SmallHead = "brannoc.obj";

    public HttpClient Client { get; }

    public string Data { get; }

    public static CancellationToken Cancellation => TestContext.Current.CancellationToken;

    public static async Task<RunningService> StartAsync(Func<ServiceOptions, ServiceOptions>? change = null, string? data = null, bool keepsData = false)
    {
        data ??= Path.Combine(Path.GetTempPath(), $"autoplace-service-{Guid.NewGuid():N}");
        var options = new ServiceOptions { DataFolder = data, Urls = ["http://127.0.0.1:0"] };
        WebApplication app = ServiceHost.Build(change?.Invoke(options) ?? options, Pipeline.Value);
        await app.StartAsync(Cancellation);
        return new RunningService(app, data, keepsData);
    }

    public T Part<T>()
        where T : notnull => (T)_app.Services.GetService(typeof(T))!;

    public async Task<JsonElement> JsonAsync(string path) => await Client.GetFromJsonAsync<JsonElement>(path, Cancellation);

    public async Task<(int Status, JsonElement Body)> SendAsync(HttpMethod method, string path, object? body = null)
    {
        using var request = new HttpRequestMessage(method, path) { Content = body is null ? null : JsonContent.Create(body) };
        using HttpResponseMessage response = await Client.SendAsync(request, Cancellation);
        string text = await response.Content.ReadAsStringAsync(Cancellation);
        return ((int)response.StatusCode, text.Length > 0 ? JsonDocument.Parse(text).RootElement : default);
    }

    public async Task<(int Status, JsonElement Body)> UploadAsync(byte[] file, string name)
    {
        using var form = new MultipartFormDataContent { { new ByteArrayContent(file), "file", name } };
        using HttpResponseMessage response = await Client.PostAsync("/v1/heads", form, Cancellation);
        return ((int)response.StatusCode, await response.Content.ReadFromJsonAsync<JsonElement>(Cancellation));
    }

    /// <summary>Adds the small demonstration head and gives its name.</summary>
    public async Task<string> HeadAsync(string demo = SmallHead)
    {
        (int status, JsonElement head) = await SendAsync(HttpMethod.Post, $"/v1/demo-heads/{demo}");
        Assert.Equal(201, status);
        return head.GetProperty("id").GetString()!;
    }

    /// <summary>Places a head and gives the placement's name once it is made.</summary>
    public async Task<string> PlacedAsync(string head)
    {
        (int status, JsonElement placement) = await SendAsync(HttpMethod.Post, $"/v1/heads/{head}/placements");
        Assert.Equal(202, status);
        string id = placement.GetProperty("id").GetString()!;
        Assert.Equal("placed", await EndedAsync(id));
        return id;
    }

    /// <summary>Waits for a placement to end and gives its state.</summary>
    public async Task<string> EndedAsync(string placement)
    {
        using HttpResponseMessage response = await Client.GetAsync($"/v1/placements/{placement}/events", HttpCompletionOption.ResponseHeadersRead, Cancellation);
        response.EnsureSuccessStatusCode();
        using var lines = new StreamReader(await response.Content.ReadAsStreamAsync(Cancellation), Encoding.UTF8);
        string happened = "";
        while (await lines.ReadLineAsync(Cancellation) is { } line)
        {
            happened = line.StartsWith("event: ", StringComparison.Ordinal) ? line[7..] : happened;
            if (happened == "state" && line.StartsWith("data: ", StringComparison.Ordinal)
                && JsonDocument.Parse(line[6..]).RootElement.GetProperty("state").GetString() is not ("queued" or "running") and var state)
            {
                return state!;
            }
        }

        throw new InvalidOperationException("The stream of events ended.");
    }

    /// <summary>Edits a placement's revision.</summary>
    public Task<(int Status, JsonElement Body)> EditAsync(string placement, int at, params object[] edits) =>
        SendAsync(HttpMethod.Post, $"/v1/placements/{placement}/revisions", new { @base = at, edits });

    /// <summary>Position of a joint in a placement.json.</summary>
    public static double[] Position(JsonElement placement, string joint) =>
        [.. placement.GetProperty("joints").EnumerateArray().First(j => j.GetProperty("name").GetString() == joint).GetProperty("position").EnumerateArray().Select(x => x.GetDouble())];

    public async ValueTask DisposeAsync()
    {
        Client.Dispose();
        await _app.StopAsync(CancellationToken.None);
        await _app.DisposeAsync();
        if (!_keepsData)
        {
            Directory.Delete(Data, recursive: true);
        }
    }
}
