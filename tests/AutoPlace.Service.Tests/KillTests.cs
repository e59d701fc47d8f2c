using System.Collections.Concurrent;
using System.Net.Http.Json;
using System.Text.Json;
using AutoPlace.Service.Storage;
using Xunit;
using static AutoPlace.Service.Tests.RunningService;

namespace AutoPlace.Service.Tests;

/// <summary>Whatever the service has acknowledged is there after it was killed amid its work.</summary>
public sealed class KillTests : IDisposable
{
    private const string Joint = "brow_2_left";

    /// <summary>Heads added in each round: enough to keep both workers busy, few enough to be placed in the end.</summary>
    private const int MostAdded = 3;

    private readonly string _data = Path.Combine(Path.GetTempPath(), $"autoplace-kill-{Guid.NewGuid():N}");
    private readonly ConcurrentDictionary<int, string> _revisions = [];
    private readonly ConcurrentDictionary<string, bool> _heads = [];
    private readonly ConcurrentDictionary<string, bool> _placements = [];

    public void Dispose()
    {
        if (Directory.Exists(_data))
        {
            Directory.Delete(_data, recursive: true);
        }
    }

    [Fact]
    public async Task Killed_amid_jobs_and_edits_it_has_all_that_it_acknowledged()
    {
        string edited;
        using (ServeProcess first = await ServeProcess.StartAsync(_data))
        {
            edited = await PlaceAsync(first.Client, await AddHeadAsync(first.Client));
            await EndedAsync(first.Client, edited);
        }

        // Twice: what was brought back must outlive the next kill as well.
        for (int round = 0; round < 2; round++)
        {
            (int revisions, int placements) = (_revisions.Count, _placements.Count);
            using ServeProcess service = await ServeProcess.StartAsync(_data);
            Task[] work = [EditAsync(service.Client, edited), AddAsync(service.Client)];
            await UntilAsync(() => _revisions.Count > revisions + 3 && _placements.Count > placements);
            service.Kill();
            await Task.WhenAll(work);
        }

        using (ServeProcess last = await ServeProcess.StartAsync(_data))
        {
            foreach ((int number, string answer) in _revisions)
            {
                Assert.Equal(answer, await last.Client.GetStringAsync($"/v1/placements/{edited}/revisions/{number}", Cancellation));
            }

            foreach (string head in _heads.Keys)
            {
                Assert.True((await last.Client.GetAsync($"/v1/heads/{head}/mesh.glb", Cancellation)).IsSuccessStatusCode);
            }

            foreach (string placement in _placements.Keys)
            {
                await EndedAsync(last.Client, placement);
            }

            Assert.Contains("autoplace_files_missing 0\n", await last.Client.GetStringAsync("/metrics", Cancellation), StringComparison.Ordinal);
        }

        using var store = new ServiceStore(_data);
        Assert.Equal(0, store.Swept.Removed);
        Assert.Empty(store.Swept.Missing);
        Assert.Equal(0, store.Database.Read(db => db.One("SELECT COUNT(*) FROM revisions GROUP BY placement, number HAVING COUNT(*) > 1", row => row.GetInt32(0))));
    }

    // Moves a joint up and down as fast as it goes.
    private async Task EditAsync(HttpClient client, string placement)
    {
        try
        {
            JsonElement now = await client.GetFromJsonAsync<JsonElement>($"/v1/placements/{placement}", Cancellation);
            double[] at = Position(now.GetProperty("placement"), Joint);
            for (int current = now.GetProperty("revision").GetInt32(); ; current++)
            {
                object[] edits = [new { kind = "moveJoint", joint = Joint, position = (double[])[at[0], at[1] + (0.0001 * (current % 7)), at[2]] }];
                using HttpResponseMessage answer = await client.PostAsJsonAsync($"/v1/placements/{placement}/revisions", new { @base = current, edits }, Cancellation);
                answer.EnsureSuccessStatusCode();
                _revisions[current + 1] = await answer.Content.ReadAsStringAsync(Cancellation);
            }
        }
        catch (Exception e) when (e is HttpRequestException { StatusCode: null } or IOException)
        {
            return; // killed
        }
    }

    private static async Task UntilAsync(Func<bool> happened)
    {
        DateTime patience = DateTime.UtcNow.AddMinutes(1);
        while (!happened())
        {
            Assert.True(DateTime.UtcNow < patience, "nothing is acknowledged");
            await Task.Delay(10, Cancellation);
        }
    }

    private async Task AddAsync(HttpClient client)
    {
        try
        {
            for (int i = 0; i < MostAdded; i++)
            {
                await PlaceAsync(client, await AddHeadAsync(client));
                await Task.Delay(300, Cancellation);
            }
        }
        catch (Exception e) when (e is HttpRequestException { StatusCode: null } or IOException)
        {
            return; // killed
        }
    }

    private async Task<string> AddHeadAsync(HttpClient client) => Note(_heads, await client.PostAsync($"/v1/demo-heads/{SmallHead}", null, Cancellation));

    private async Task<string> PlaceAsync(HttpClient client, string head) => Note(
        _placements, await client.PostAsJsonAsync($"/v1/heads/{head}/placements", new { }, Cancellation));

    private static string Note(ConcurrentDictionary<string, bool> names, HttpResponseMessage answer)
    {
        answer.EnsureSuccessStatusCode();
        string id = JsonDocument.Parse(answer.Content.ReadAsStream(Cancellation)).RootElement.GetProperty("id").GetString()!;
        names[id] = true;
        return id;
    }

    private static async Task EndedAsync(HttpClient client, string placement)
    {
        DateTime patience = DateTime.UtcNow.AddMinutes(1);
        while ((await client.GetFromJsonAsync<JsonElement>($"/v1/placements/{placement}", Cancellation)).GetProperty("state").GetString() != "placed")
        {
            Assert.True(DateTime.UtcNow < patience, await client.GetStringAsync($"/v1/placements/{placement}", Cancellation));
            await Task.Delay(100, Cancellation);
        }
    }
}
