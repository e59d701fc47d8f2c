using System.Text.Json;
using System.Text.Json.Nodes;
using Xunit;
using static AutoPlace.Service.Tests.RunningService;

namespace AutoPlace.Service.Tests;

public sealed class RevisionsApiTests(PlacedHead shared) : IClassFixture<PlacedHead>
{
    private const string Joint = "brow_2_left", Twin = "brow_2_right";

    private RunningService Service => shared.Service;

    private string Id => shared.Placement;

    [Fact]
    public async Task Moved_joint_is_where_it_was_put_and_locked()
    {
        (int now, double[] to) = (await NowAsync(), await RaisedAsync(Service, Id));
        (int status, JsonElement answer) = await Service.EditAsync(Id, now, new { kind = "moveJoint", joint = Joint, position = to });
        Assert.Equal(201, status);
        Assert.Equal(now + 1, answer.GetProperty("revision").GetProperty("number").GetInt32());
        Assert.Equal(to, Position(answer.GetProperty("placement"), Joint));
        Assert.Contains(answer.GetProperty("revision").GetProperty("corrections").GetProperty("joints").EnumerateArray(), j => j.GetProperty("name").GetString() == Joint);
        Assert.Equal("moveJoint", answer.GetProperty("revision").GetProperty("edits")[0].GetProperty("kind").GetString());
    }

    [Fact]
    public async Task Looks_are_by_gain_without_what_was_looked_at()
    {
        int now = await NowAsync();
        (string Joint, double Gain)[] before = await LooksAsync(now);
        Assert.True(before.Length > 100);

        // Each is the greatest of those left, given the looks before it: which may raise what another gains, a little.
        Assert.All(before.Zip(before.Skip(1)), pair => Assert.InRange(pair.Second.Gain, 0, 1.01 * pair.First.Gain));
        await Service.EditAsync(Id, now, new { kind = "lockJoint", joint = before[0].Joint });
        (string Joint, double Gain)[] after = await LooksAsync(now + 1);
        Assert.DoesNotContain(after, l => l.Joint == before[0].Joint);
        Assert.Equal(before[1].Joint, after[0].Joint);
        Assert.Equal(before[1].Gain, after[0].Gain, 1e-3 * before[1].Gain);

        async Task<(string Joint, double Gain)[]> LooksAsync(int revision) =>
            [.. (await Service.JsonAsync($"/v1/placements/{Id}/files/looks.json?revision={revision}")).GetProperty("looks").EnumerateArray()
                .Select(l => (l.GetProperty("joint").GetString()!, l.GetProperty("gain").GetDouble()))];
    }

    [Fact]
    public async Task Stale_base_is_a_conflict_that_names_the_current_revision()
    {
        int now = await NowAsync();
        object edit = new { kind = "lockJoint", joint = Joint };
        Assert.Equal(201, (await Service.EditAsync(Id, now, edit)).Status);
        (int status, JsonElement problem) = await Service.EditAsync(Id, now, edit);
        Assert.Equal(409, status);
        Assert.Equal(now + 1, problem.GetProperty("current").GetInt32());
        Assert.Equal(now + 1, (await Service.JsonAsync($"/v1/placements/{Id}/revisions")).GetProperty("revisions").GetArrayLength());
    }

    [Fact]
    public async Task One_of_many_at_once_on_the_same_base_wins()
    {
        int now = await NowAsync();
        (int Status, JsonElement Body)[] answers = await Task.WhenAll(
            Enumerable.Range(0, 8).Select(_ => Service.EditAsync(Id, now, new { kind = "lockJoint", joint = Joint })));
        Assert.Equal([201, .. Enumerable.Repeat(409, 7)], answers.Select(a => a.Status).Order());
    }

    [Fact]
    public async Task Edits_are_solved_alike_after_a_restart()
    {
        string data;
        string id, before, list;
        double[] to;
        await using (RunningService service = await StartAsync(keepsData: true))
        {
            data = service.Data;
            id = await service.PlacedAsync(await service.HeadAsync());
            to = await RaisedAsync(service, id);
            await service.EditAsync(id, 1, new { kind = "moveJoint", joint = Joint, position = to, alongSkin = true, influence = 0.01 });
            await service.EditAsync(id, 2, new { kind = "mirrorJoints", joints = new[] { Joint }, by = "plane" });
            before = (await service.JsonAsync($"/v1/placements/{id}/revisions/3")).GetRawText();
            list = (await service.JsonAsync($"/v1/placements/{id}/revisions")).GetRawText();
        }

        await using RunningService again = await StartAsync(data: data);
        Assert.Equal(before, (await again.JsonAsync($"/v1/placements/{id}/revisions/3")).GetRawText());
        Assert.Equal(list, (await again.JsonAsync($"/v1/placements/{id}/revisions")).GetRawText());

        // Locking what is locked changes nothing: the head that is placed anew gives the stored placement, to the last digit.
        (int status, JsonElement answer) = await again.EditAsync(id, 3, new { kind = "lockJoint", joint = Twin });
        Assert.Equal(201, status);
        Assert.Equal(
            JsonDocument.Parse(before).RootElement.GetProperty("placement").GetProperty("joints").GetRawText(),
            answer.GetProperty("placement").GetProperty("joints").GetRawText());
    }

    [Fact]
    public async Task Restored_revision_is_the_old_one_exactly()
    {
        (int now, double[] to) = (await NowAsync(), await RaisedAsync(Service, Id));
        await Service.EditAsync(Id, now, new { kind = "moveJoint", joint = Joint, position = to });
        await Service.EditAsync(Id, now + 1, new { kind = "restore", revision = 1 });
        (int status, JsonElement redone) = await Service.EditAsync(Id, now + 2, new { kind = "restore", revision = now + 1 });
        Assert.Equal(201, status);
        Assert.Equal(now + 1, redone.GetProperty("revision").GetProperty("restores").GetInt32());
        Assert.Equal(await FileAsync(1), await FileAsync(now + 2));
        Assert.Equal(await FileAsync(now + 1), await FileAsync(now + 3));

        // What is edited next starts from what was restored.
        (_, JsonElement next) = await Service.EditAsync(Id, now + 3, new { kind = "lockJoint", joint = Twin });
        Assert.Equal(to, Position(next.GetProperty("placement"), Joint));
    }

    [Theory]
    [InlineData("""{"kind":"moveJoint","joint":"nowhere","position":[0,0,0]}""", 422, "nowhere")]
    [InlineData("""{"kind":"moveJoint","joint":"brow_2_left","position":[0,0]}""", 422, "brow_2_left")]
    [InlineData("""{"kind":"moveJoint","joint":"brow_2_left","position":[0,1e40,0]}""", 422, "brow_2_left")]
    [InlineData("""{"kind":"moveJoint","joint":"brow_2_left","position":[0,1e25,0],"alongSkin":true}""", 422, "brow_2_left")]
    [InlineData("""{"kind":"moveLandmark","landmark":"pronasale","position":[1e40,0,0]}""", 422, "pronasale")]
    [InlineData("""{"kind":"turnJoint","joint":"brow_2_left","rotation":[0,0,0,2]}""", 422, "brow_2_left")]
    [InlineData("""{"kind":"mirrorJoints","joints":["vertex"],"by":"plane"}""", 422, "vertex")]
    [InlineData("""{"kind":"moveLandmark","landmark":"third_eye","position":[0,0,0]}""", 422, "third_eye")]
    [InlineData("""{"kind":"rowToLoop","row":"no_row","point":[0,0,0]}""", 422, "no_row")]
    [InlineData("""{"kind":"pivotToPart","joint":"eye_centre_left","part":"no_part"}""", 422, "no_part")]
    [InlineData("""{"kind":"restore","revision":99}""", 404, null)]
    [InlineData("""{"kind":"polish","joint":"brow_2_left"}""", 400, "$.edits[0]")]
    [InlineData("""{"kind":"lockJoint","joint":"brow_2_left","force":true}""", 400, "$.edits[0].force")]
    public async Task Edit_that_cannot_be_made_changes_nothing(string edit, int expected, string? element)
    {
        int now = await NowAsync();
        (int status, JsonElement problem) = await Service.EditAsync(Id, now, JsonDocument.Parse(edit).RootElement);
        Assert.Equal(expected, status);
        Assert.Equal(element, problem.TryGetProperty("element", out JsonElement at) ? at.GetString() : null);
        Assert.Equal(now, await NowAsync());
    }

    [Fact]
    public async Task Placement_corrected_elsewhere_comes_in_as_corrections()
    {
        int now = await NowAsync();
        await Service.EditAsync(Id, now, new { kind = "restore", revision = 1 });
        double[] to = await RaisedAsync(Service, Id);
        (_, JsonElement moved) = await Service.EditAsync(Id, now + 1, new { kind = "moveJoint", joint = Joint, position = to });
        JsonElement corrections = moved.GetProperty("revision").GetProperty("corrections");
        await Service.EditAsync(Id, now + 2, new { kind = "restore", revision = 1 });
        string import = $"/v1/placements/{Id}/import?base=";
        (int status, JsonElement imported) = await Service.SendAsync(HttpMethod.Post, $"{import}{now + 3}", moved.GetProperty("placement"));
        Assert.Equal(201, status);
        Assert.Equal(to, Position(imported.GetProperty("placement"), Joint));
        (status, JsonElement kept) = await Service.SendAsync(HttpMethod.Post, $"{import}{now + 4}", corrections);
        Assert.Equal(201, status);
        Assert.Equal(moved.GetProperty("placement").GetProperty("joints").GetRawText(), kept.GetProperty("placement").GetProperty("joints").GetRawText());
        Assert.Equal(422, (await Service.SendAsync(HttpMethod.Post, $"{import}{now + 5}", new { format = "something" })).Status);
    }

    /// <summary>What comes in as a file is bounded as edits are: refused by its element, and nothing is placed or changed.</summary>
    [Theory]
    [InlineData("placement", "joints[0].position")]
    [InlineData("corrections", "joints[0].position")]
    [InlineData("corrections", "joints[0].atlasPoint")]
    public async Task Imported_position_beyond_all_reach_is_refused_by_its_element(string file, string element)
    {
        int now = await NowAsync();
        (_, JsonElement locked) = await Service.EditAsync(Id, now, new { kind = "lockJoint", joint = Joint });
        JsonNode body = JsonNode.Parse((file == "placement" ? locked.GetProperty("placement") : locked.GetProperty("revision").GetProperty("corrections")).GetRawText())!;
        body["joints"]![0]![element.Split('.')[1]]![1] = 1e40;

        (int status, JsonElement problem) = await Service.SendAsync(HttpMethod.Post, $"/v1/placements/{Id}/import?base={now + 1}", body);

        Assert.Equal((422, element), (status, problem.GetProperty("element").GetString()));
        Assert.Equal(now + 1, await NowAsync());
        if (file == "corrections")
        {
            string head = (await Service.JsonAsync($"/v1/placements/{Id}")).GetProperty("headId").GetString()!;
            (status, problem) = await Service.SendAsync(HttpMethod.Post, $"/v1/heads/{head}/placements", new { corrections = body });
            Assert.Equal((422, element), (status, problem.GetProperty("element").GetString()));
        }
    }

    [Fact]
    public async Task Revision_may_be_named_and_nothing_else()
    {
        string revisions = $"/v1/placements/{Id}/revisions";
        Assert.Equal(200, (await Service.SendAsync(HttpMethod.Patch, $"{revisions}/1", new { name = "as placed" })).Status);
        Assert.Equal("as placed", (await Service.JsonAsync($"{revisions}/1")).GetProperty("revision").GetProperty("name").GetString());
        Assert.Equal(400, (await Service.SendAsync(HttpMethod.Patch, $"{revisions}/1", new { note = "mine" })).Status);
        Assert.Equal(404, (await Service.SendAsync(HttpMethod.Patch, $"{revisions}/999", new { name = "x" })).Status);
    }

    private static async Task<double[]> RaisedAsync(RunningService service, string id)
    {
        JsonElement placement = (await service.JsonAsync($"/v1/placements/{id}")).GetProperty("placement");
        double distance = placement.GetProperty("head").GetProperty("interocularDistance").GetDouble();
        double[] at = Position(placement, Joint);
        return [at[0], Math.Round(at[1] + (0.05 * distance), 4), at[2]];
    }

    private async Task<int> NowAsync() => (await Service.JsonAsync($"/v1/placements/{Id}")).GetProperty("revision").GetInt32();

    private Task<string> FileAsync(int revision) =>
        Service.Client.GetStringAsync($"/v1/placements/{Id}/files/placement.json?revision={revision}", Cancellation);
}
