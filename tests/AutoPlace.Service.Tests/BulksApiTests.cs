using System.Text;
using System.Text.Json;
using Xunit;
using static AutoPlace.Service.Tests.RunningService;

namespace AutoPlace.Service.Tests;

public sealed class BulksApiTests
{
    [Fact]
    public async Task Bulk_ends_with_the_worst_first_and_goes_with_its_placements()
    {
        await using RunningService service = await StartAsync();
        (_, JsonElement flat) = await service.UploadAsync(Encoding.UTF8.GetBytes("v 0 0 0\nv 1 0 0\nv 0 1 0\nf 1 2 3\n"), "flat, or so.obj");
        string good = await service.HeadAsync(), bad = flat.GetProperty("id").GetString()!;
        (int status, JsonElement bulk) = await service.SendAsync(HttpMethod.Post, "/v1/bulks", new { heads = new[] { good, bad }, lattice = "reduced" });
        Assert.Equal(202, status);
        string path = $"/v1/bulks/{bulk.GetProperty("id").GetString()}";
        Assert.Equal("running", bulk.GetProperty("state").GetString());
        JsonElement done = await DoneAsync(service, path);
        Assert.Equal(2, done.GetProperty("done").GetInt32());
        Assert.Equal(JsonValueKind.Null, done.GetProperty("secondsLeft").ValueKind);
        JsonElement rows = done.GetProperty("rows");
        Assert.Equal([bad, good], rows.EnumerateArray().Select(row => row.GetProperty("headId").GetString()));
        Assert.Equal(["failed", "placed"], rows.EnumerateArray().Select(row => row.GetProperty("state").GetString()));
        Assert.True(rows[0].GetProperty("doubtful").GetBoolean());
        string[] csv = (await service.Client.GetStringAsync(path + "/report.csv", Cancellation)).Split('\n');
        Assert.Equal("name,file,state,needs_person,errors,warnings,seconds,reasons", csv[0]);
        Assert.StartsWith($"\"flat, or so.obj\",{bad},no-head,1,", csv[1], StringComparison.Ordinal);
        JsonElement placement = await service.JsonAsync($"/v1/placements/{rows[1].GetProperty("placementId").GetString()}");
        Assert.Equal("reduced", placement.GetProperty("placement").GetProperty("template").GetProperty("lattice").GetString());
        Assert.Equal(204, (await service.SendAsync(HttpMethod.Delete, path)).Status);
        Assert.Empty((await service.JsonAsync("/v1/placements")).GetProperty("placements").EnumerateArray());
        Assert.Equal(2, HeadsApiTests.FilesOf(service).Count); // the heads stay
    }

    [Fact]
    public async Task Bulk_of_heads_that_are_not_there_is_refused_whole()
    {
        await using RunningService service = await StartAsync(options => options with { MostBulkHeads = 2 });
        string head = await service.HeadAsync();
        foreach ((string[] heads, string element) in ((string[], string)[])[([], "heads"), ([head, "x"], "x"), ([head, head], head), (["a", "b", "c"], "heads")])
        {
            (int status, JsonElement problem) = await service.SendAsync(HttpMethod.Post, "/v1/bulks", new { heads });
            Assert.Equal(422, status);
            Assert.Equal(element, problem.GetProperty("element").GetString());
        }

        Assert.Empty((await service.JsonAsync("/v1/bulks")).GetProperty("bulks").EnumerateArray());
        Assert.Empty((await service.JsonAsync("/v1/placements")).GetProperty("placements").EnumerateArray());
    }

    internal static async Task<JsonElement> DoneAsync(RunningService service, string path)
    {
        DateTime patience = DateTime.UtcNow.AddMinutes(1);
        while (DateTime.UtcNow < patience)
        {
            JsonElement bulk = await service.JsonAsync(path);
            if (bulk.GetProperty("state").GetString() == "done")
            {
                return bulk;
            }

            await Task.Delay(100, Cancellation);
        }

        throw new TimeoutException("The bulk isn't done.");
    }
}
