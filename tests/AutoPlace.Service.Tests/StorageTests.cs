using System.Text.Json;
using AutoPlace.Service.Heads;
using AutoPlace.Service.Hosting;
using AutoPlace.Service.Placements;
using AutoPlace.Service.Storage;
using Microsoft.Extensions.Hosting;
using Xunit;
using static AutoPlace.Service.Tests.RunningService;

namespace AutoPlace.Service.Tests;

public sealed class StorageTests
{
    [Fact]
    public async Task Start_removes_files_without_rows_and_reports_rows_without_files()
    {
        string data, head;
        await using (RunningService service = await StartAsync(keepsData: true))
        {
            data = service.Data;
            head = await service.HeadAsync();
            await service.HeadAsync("wick.ply");
        }

        string sha256 = new('e', 64), kept = Directory.GetFiles(Path.Combine(data, "files"), "*", SearchOption.AllDirectories)[0];
        Directory.CreateDirectory(Path.Combine(data, "files", "ee"));
        File.WriteAllText(Path.Combine(data, "files", "ee", sha256), "orphan");
        File.WriteAllText(Path.Combine(data, "waiting", "half an upload"), "v 0 0");
        File.Delete(kept);
        await using RunningService again = await StartAsync(data: data);
        SweepOutcome swept = again.Part<ServiceStore>().Swept;
        Assert.Equal(2, swept.Removed);
        Assert.Equal(Path.GetFileName(kept), Assert.Single(swept.Missing));
        Assert.Equal(1, (await again.JsonAsync("/health/ready")).GetProperty("missingFiles").GetInt32());
        Assert.Contains("autoplace_files_missing 1\n", await again.Client.GetStringAsync("/metrics", Cancellation), StringComparison.Ordinal);
        Assert.Single(HeadsApiTests.FilesOf(again));
        Assert.Equal(2, (await again.JsonAsync("/v1/heads")).GetProperty("heads").GetArrayLength());
    }

    [Fact]
    public async Task Data_folder_belongs_to_one_process()
    {
        await using RunningService service = await StartAsync();
        await Assert.ThrowsAsync<IOException>(() => StartAsync(data: service.Data));
    }

    [Fact]
    public async Task Heads_go_when_their_retention_time_is_over()
    {
        await using RunningService service = await StartAsync(options => options with { Retention = TimeSpan.FromSeconds(2) });
        string head = await service.HeadAsync();
        DateTime patience = DateTime.UtcNow.AddMinutes(1);
        while ((await service.SendAsync(HttpMethod.Get, $"/v1/heads/{head}")).Status != 404)
        {
            Assert.True(DateTime.UtcNow < patience, "the head is still there");
            await Task.Delay(100, Cancellation);
        }

        Assert.Empty(HeadsApiTests.FilesOf(service));
    }

    [Fact]
    public async Task Sweep_that_cannot_write_is_tried_again()
    {
        await using RunningService service = await StartAsync(options => options with { Retention = TimeSpan.FromSeconds(2) });
        ServiceDatabase database = service.Part<ServiceStore>().Database;
        database.Write(db => db.Execute("CREATE TRIGGER full BEFORE DELETE ON heads BEGIN SELECT RAISE(ABORT, 'database or disk is full'); END"));
        string head = await service.HeadAsync();
        await Task.Delay(TimeSpan.FromSeconds(3), Cancellation); // several sweeps
        Assert.Equal(200, (await service.SendAsync(HttpMethod.Get, $"/v1/heads/{head}")).Status);
        Assert.False(service.Part<IHostApplicationLifetime>().ApplicationStopping.IsCancellationRequested);
        database.Write(db => db.Execute("DROP TRIGGER full"));
        for (DateTime patience = DateTime.UtcNow.AddMinutes(1); (await service.SendAsync(HttpMethod.Get, $"/v1/heads/{head}")).Status != 404;)
        {
            Assert.True(DateTime.UtcNow < patience, "the head is still there");
            await Task.Delay(100, Cancellation);
        }
    }

    [Fact]
    public async Task Head_that_was_used_since_is_not_swept()
    {
        await using RunningService service = await StartAsync();
        string head = await service.HeadAsync();
        HeadStore heads = service.Part<HeadStore>();
        DateTimeOffset later = DateTimeOffset.UtcNow.AddMinutes(1);
        Assert.Null(heads.Delete(head, DateTimeOffset.UtcNow.AddMinutes(-1)));
        Assert.NotNull(heads.Find(head));
        service.Part<PlacementStore>().Add(head, new PlacementRequest()); // waits, so it's in use however old it is
        Assert.Null(heads.Delete(head, later));
        service.Part<ServiceStore>().Database.Write(db => db.Execute("UPDATE placements SET state = 'failed'"));
        Assert.Single(heads.Delete(head, later)!);
        Assert.Null(heads.Find(head));
    }

    [Fact]
    public async Task Listeners_hear_that_a_placement_went_with_its_head_or_bulk()
    {
        await using RunningService service = await StartAsync(options => options with { Workers = 1 });
        string head = await service.HeadAsync();
        (_, JsonElement bulk) = await service.SendAsync(HttpMethod.Post, "/v1/bulks", new { heads = new[] { head } });
        string ofBulk = (await service.JsonAsync("/v1/placements")).GetProperty("placements")[0].GetProperty("id").GetString()!;
        using PlacementEvents.Subscription first = service.Part<PlacementEvents>().Listen(ofBulk);
        Assert.Equal(204, (await service.SendAsync(HttpMethod.Delete, $"/v1/bulks/{bulk.GetProperty("id").GetString()}")).Status);
        await CancelledAsync(first);

        (_, JsonElement placement) = await service.SendAsync(HttpMethod.Post, $"/v1/heads/{head}/placements");
        using PlacementEvents.Subscription second = service.Part<PlacementEvents>().Listen(placement.GetProperty("id").GetString()!);
        Assert.Equal(204, (await service.SendAsync(HttpMethod.Delete, $"/v1/heads/{head}")).Status);
        await CancelledAsync(second);

        static async Task CancelledAsync(PlacementEvents.Subscription listener)
        {
            using var patience = CancellationTokenSource.CreateLinkedTokenSource(Cancellation);
            patience.CancelAfter(TimeSpan.FromSeconds(20));
            while ((await listener.Events.ReadAsync(patience.Token)).Content is not Placement { State: PlacementState.Cancelled })
            {
                continue;
            }
        }
    }

    [Fact]
    public void Deleted_placement_gives_its_place_in_the_queue_back()
    {
        using var queue = new PlacementQueue(new ServiceOptions { DataFolder = "", MostQueued = 1 });
        queue.Reserve();
        queue.Add("first");
        Assert.Throws<RequestRefused>(queue.Reserve);
        queue.Cancel(["first"]);
        queue.Reserve();
        Assert.Equal(1, queue.Length);
    }

    [Fact]
    public async Task Placement_goes_on_as_soon_as_it_can_be_written()
    {
        await using RunningService service = await StartAsync();
        string head = await service.HeadAsync();
        ServiceDatabase database = service.Part<ServiceStore>().Database;
        database.Write(db => db.Execute("CREATE TRIGGER full BEFORE UPDATE ON placements BEGIN SELECT RAISE(ABORT, 'database or disk is full'); END"));
        (_, JsonElement placement) = await service.SendAsync(HttpMethod.Post, $"/v1/heads/{head}/placements");
        string id = placement.GetProperty("id").GetString()!;
        PlacementQueue queue = service.Part<PlacementQueue>();
        while (queue.Length + queue.Running > 0)
        {
            await Task.Delay(20, Cancellation);
        }

        Assert.Equal("queued", (await service.JsonAsync($"/v1/placements/{id}")).GetProperty("state").GetString());
        database.Write(db => db.Execute("DROP TRIGGER full"));
        Assert.Equal("placed", await service.EndedAsync(id).WaitAsync(TimeSpan.FromMinutes(2), Cancellation));
    }

    [Fact]
    public async Task Template_serves_its_placements_and_can_go_afterwards()
    {
        await using RunningService service = await StartAsync();
        byte[] builtIn = File.ReadAllBytes(Path.Combine(DemoFile.Repository(), "src/AutoPlace.Core/Template/built-in.json"));
        (int status, JsonElement template) = await service.SendAsync(HttpMethod.Post, "/v1/templates", JsonDocument.Parse(builtIn).RootElement);
        Assert.Equal(201, status);
        string id = template.GetProperty("id").GetString()!;
        Assert.Equal(2, (await service.JsonAsync("/v1/templates")).GetProperty("templates").GetArrayLength());
        (_, JsonElement placement) = await service.SendAsync(HttpMethod.Post, $"/v1/heads/{await service.HeadAsync()}/placements", new { template = id });
        string placed = placement.GetProperty("id").GetString()!;
        Assert.Equal("placed", await service.EndedAsync(placed));
        Assert.Equal(409, (await service.SendAsync(HttpMethod.Delete, $"/v1/templates/{id}")).Status);
        Assert.Equal(204, (await service.SendAsync(HttpMethod.Delete, $"/v1/placements/{placed}")).Status);
        Assert.Equal(204, (await service.SendAsync(HttpMethod.Delete, $"/v1/templates/{id}")).Status);
        Assert.Equal(409, (await service.SendAsync(HttpMethod.Delete, "/v1/templates/built-in")).Status);
        (status, JsonElement problem) = await service.SendAsync(HttpMethod.Post, "/v1/templates", new { format = "autoplace.template" });
        Assert.Equal(422, status);
        Assert.Contains("version", problem.GetProperty("reason").GetString(), StringComparison.Ordinal);
    }
}
