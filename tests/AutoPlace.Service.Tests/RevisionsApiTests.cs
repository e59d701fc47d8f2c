using System.Text.Json;
using Xunit;
using static AutoPlace.Service.Tests.RunningService;

namespace AutoPlace.Service.Tests;

public sealed class RevisionsApiTests(PlacedHead untouched) : IClassFixture<PlacedHead>
{
    private const string Joint = "brow_2_left", Twin = "brow_2_right";

    [Fact]
    public async Task Moved_joint_is_where_it_was_put_and_locked()
    {
        await using RunningService service = await StartAsync();
        string id = await service.PlacedAsync(await service.HeadAsync());
        double[] to = await RaisedAsync(service, id);
        (int status, JsonElement answer) = await service.EditAsync(id, 1, new { kind = "moveJoint", joint = Joint, position = to });
        Assert.Equal(201, status);
        Assert.Equal(2, answer.GetProperty("revision").GetProperty("number").GetInt32());
        Assert.Equal(to, Position(answer.GetProperty("placement"), Joint));
        Assert.Equal(Joint, answer.GetProperty("revision").GetProperty("corrections").GetProperty("joints")[0].GetProperty("name").GetString());
        Assert.Equal("moveJoint", answer.GetProperty("revision").GetProperty("edits")[0].GetProperty("kind").GetString());
    }

    [Fact]
    public async Task Stale_base_is_a_conflict_that_names_the_current_revision()
    {
        await using RunningService service = await StartAsync();
        string id = await service.PlacedAsync(await service.HeadAsync());
        object edit = new { kind = "lockJoint", joint = Joint };
        Assert.Equal(201, (await service.EditAsync(id, 1, edit)).Status);
        (int status, JsonElement problem) = await service.EditAsync(id, 1, edit);
        Assert.Equal(409, status);
        Assert.Equal(2, problem.GetProperty("current").GetInt32());
        Assert.Equal(2, (await service.JsonAsync($"/v1/placements/{id}/revisions")).GetProperty("revisions").GetArrayLength());
    }

    [Fact]
    public async Task One_of_many_at_once_on_the_same_base_wins()
    {
        await using RunningService service = await StartAsync();
        string id = await service.PlacedAsync(await service.HeadAsync());
        (int Status, JsonElement Body)[] answers = await Task.WhenAll(
            Enumerable.Range(0, 8).Select(_ => service.EditAsync(id, 1, new { kind = "lockJoint", joint = Joint })));
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
        await using RunningService service = await StartAsync();
        string id = await service.PlacedAsync(await service.HeadAsync());
        double[] to = await RaisedAsync(service, id);
        await service.EditAsync(id, 1, new { kind = "moveJoint", joint = Joint, position = to });
        await service.EditAsync(id, 2, new { kind = "restore", revision = 1 });
        (int status, JsonElement redone) = await service.EditAsync(id, 3, new { kind = "restore", revision = 2 });
        Assert.Equal(201, status);
        Assert.Equal(2, redone.GetProperty("revision").GetProperty("restores").GetInt32());
        Assert.Equal(await FileAsync(service, id, 1), await FileAsync(service, id, 3));
        Assert.Equal(await FileAsync(service, id, 2), await FileAsync(service, id, 4));

        // What is edited next starts from what was restored.
        (_, JsonElement next) = await service.EditAsync(id, 4, new { kind = "lockJoint", joint = Twin });
        Assert.Equal(to, Position(next.GetProperty("placement"), Joint));
    }

    [Theory]
    [InlineData("""{"kind":"moveJoint","joint":"nowhere","position":[0,0,0]}""", 422, "nowhere")]
    [InlineData("""{"kind":"moveJoint","joint":"brow_2_left","position":[0,0]}""", 422, "brow_2_left")]
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
        (RunningService service, string id) = (untouched.Service, untouched.Placement);
        (int status, JsonElement problem) = await service.EditAsync(id, 1, JsonDocument.Parse(edit).RootElement);
        Assert.Equal(expected, status);
        Assert.Equal(element, problem.TryGetProperty("element", out JsonElement at) ? at.GetString() : null);
        Assert.Equal(1, (await service.JsonAsync($"/v1/placements/{id}")).GetProperty("revision").GetInt32());
    }

    [Fact]
    public async Task Placement_corrected_elsewhere_comes_in_as_corrections()
    {
        await using RunningService service = await StartAsync();
        string id = await service.PlacedAsync(await service.HeadAsync());
        double[] to = await RaisedAsync(service, id);
        (_, JsonElement moved) = await service.EditAsync(id, 1, new { kind = "moveJoint", joint = Joint, position = to });
        JsonElement corrections = moved.GetProperty("revision").GetProperty("corrections");
        await service.EditAsync(id, 2, new { kind = "restore", revision = 1 });
        (int status, JsonElement imported) = await service.SendAsync(HttpMethod.Post, $"/v1/placements/{id}/import?base=3", moved.GetProperty("placement"));
        Assert.Equal(201, status);
        Assert.Equal(to, Position(imported.GetProperty("placement"), Joint));
        (status, JsonElement kept) = await service.SendAsync(HttpMethod.Post, $"/v1/placements/{id}/import?base=4", corrections);
        Assert.Equal(201, status);
        Assert.Equal(moved.GetProperty("placement").GetProperty("joints").GetRawText(), kept.GetProperty("placement").GetProperty("joints").GetRawText());
        Assert.Equal(422, (await service.SendAsync(HttpMethod.Post, $"/v1/placements/{id}/import?base=5", new { format = "something" })).Status);
    }

    [Fact]
    public async Task Revision_may_be_named_and_nothing_else()
    {
        await using RunningService service = await StartAsync();
        string id = await service.PlacedAsync(await service.HeadAsync());
        Assert.Equal(200, (await service.SendAsync(HttpMethod.Patch, $"/v1/placements/{id}/revisions/1", new { name = "as placed" })).Status);
        Assert.Equal("as placed", (await service.JsonAsync($"/v1/placements/{id}/revisions/1")).GetProperty("revision").GetProperty("name").GetString());
        Assert.Equal(400, (await service.SendAsync(HttpMethod.Patch, $"/v1/placements/{id}/revisions/1", new { note = "mine" })).Status);
        Assert.Equal(404, (await service.SendAsync(HttpMethod.Patch, $"/v1/placements/{id}/revisions/2", new { name = "x" })).Status);
    }

    private static async Task<double[]> RaisedAsync(RunningService service, string id)
    {
        JsonElement placement = (await service.JsonAsync($"/v1/placements/{id}")).GetProperty("placement");
        double distance = placement.GetProperty("head").GetProperty("interocularDistance").GetDouble();
        double[] at = Position(placement, Joint);
        return [at[0], Math.Round(at[1] + (0.05 * distance), 4), at[2]];
    }

    private static async Task<string> FileAsync(RunningService service, string id, int revision) =>
        await service.Client.GetStringAsync($"/v1/placements/{id}/files/placement.json?revision={revision}", Cancellation);
}
