using System.Diagnostics;
using System.Net.Http.Json;
using System.Text.Json;

namespace AutoPlace.ServiceLoad;

/// <summary>A running <c>autoplace serve</c>, which ends without a word, as by SIGKILL.</summary>
internal sealed class ServeRun : IAsyncDisposable
{
    private readonly List<string> _log = [];

    private ServeRun(Process process) => Process = process;

    public Process Process { get; }

    public HttpClient Client { get; } = new() { Timeout = TimeSpan.FromMinutes(5) };

    /// <summary>What it has written to its log so far.</summary>
    public IReadOnlyList<string> Log
    {
        get
        {
            lock (_log)
            {
                return [.. _log];
            }
        }
    }

    /// <summary>Starts it on a free port and waits until it listens.</summary>
    public static async Task<ServeRun> StartAsync(string data, CancellationToken cancellation)
    {
        var start = new ProcessStartInfo(BulkLoad.Executable(), ["serve", "--urls", "http://127.0.0.1:0", "--data", data]) { RedirectStandardOutput = true, RedirectStandardError = true };
        var run = new ServeRun(Process.Start(start)!);
        run.Process.ErrorDataReceived += (_, line) => run.Note(line.Data);
        run.Process.BeginErrorReadLine();
        run.Client.BaseAddress = new Uri(await run.Process.StandardOutput.ReadLineAsync(cancellation) ?? throw new InvalidOperationException("serve ended at once"));
        return run;
    }

    /// <summary>Uploads a head.</summary>
    public async Task<HttpResponseMessage> UploadAsync(byte[] file, string name, CancellationToken cancellation)
    {
        using var form = new MultipartFormDataContent { { new ByteArrayContent(file), "file", name } };
        return await Client.PostAsync("/v1/heads", form, cancellation);
    }

    /// <summary>All heads, placements or bulks.</summary>
    public async Task<JsonElement[]> ListAsync(string what, CancellationToken cancellation) =>
        [.. (await Client.GetFromJsonAsync<JsonElement>($"/v1/{what}", cancellation)).GetProperty(what).EnumerateArray()];

    /// <summary>Waits until no placement waits or is being made.</summary>
    public async Task AwaitAllAsync(CancellationToken cancellation)
    {
        while ((await ListAsync("placements", cancellation)).Any(p => p.GetProperty("state").GetString() is "queued" or "running"))
        {
            await Task.Delay(1000, cancellation);
        }
    }

    public async ValueTask DisposeAsync()
    {
        Client.Dispose();
        if (!Process.HasExited)
        {
            Process.Kill();
        }

        await Process.WaitForExitAsync(CancellationToken.None);
        Process.Dispose();
    }

    private void Note(string? line)
    {
        lock (_log)
        {
            _log.Add(line ?? "");
        }
    }
}
