using System.Globalization;
using System.Net;
using System.Text;
using System.Text.Json;
using System.Text.Json.Nodes;
using Xunit;
using static AutoPlace.Service.Tests.RunningService;

namespace AutoPlace.Service.Tests;

public sealed class PlacementsApiTests(PlacedHead placed) : IClassFixture<PlacedHead>
{
    private const string Triangle = "v 0 0 0\nv 1 0 0\nv 0 1 0\nf 1 2 3\n";

    [Fact]
    public async Task Full_queue_refuses_with_a_time_to_wait_and_keeps_nothing_of_it()
    {
        await using RunningService service = await StartAsync(options => options with { MostQueued = 1, Workers = 1 });
        string head = await service.HeadAsync();
        var taken = new List<string>();
        int refused = 0;
        for (int i = 0; i < 40 && refused == 0; i++)
        {
            using HttpResponseMessage answer = await service.Client.PostAsync($"/v1/heads/{head}/placements", null, Cancellation);
            if (answer.StatusCode == HttpStatusCode.TooManyRequests)
            {
                refused++;
                Assert.True(answer.Headers.RetryAfter!.Delta > TimeSpan.Zero);
                Assert.Equal("application/problem+json", answer.Content.Headers.ContentType!.MediaType);
            }
            else
            {
                Assert.Equal(HttpStatusCode.Accepted, answer.StatusCode);
                taken.Add(JsonDocument.Parse(await answer.Content.ReadAsStringAsync(Cancellation)).RootElement.GetProperty("id").GetString()!);
            }
        }

        Assert.True(refused > 0);
        JsonElement listed = (await service.JsonAsync("/v1/placements")).GetProperty("placements");
        Assert.Equal(taken.Order(StringComparer.Ordinal), listed.EnumerateArray().Select(p => p.GetProperty("id").GetString()!).Order(StringComparer.Ordinal));
        foreach (string placement in taken)
        {
            Assert.Equal("placed", await service.EndedAsync(placement));
        }
    }

    [Fact]
    public async Task Events_tell_stages_then_findings_then_the_end()
    {
        await using RunningService service = await StartAsync();
        (_, JsonElement placement) = await service.SendAsync(HttpMethod.Post, $"/v1/heads/{await service.HeadAsync()}/placements", new { lattice = "reduced" });
        using HttpResponseMessage response = await service.Client.GetAsync(
            $"/v1/placements/{placement.GetProperty("id").GetString()}/events", HttpCompletionOption.ResponseHeadersRead, Cancellation);
        Assert.Equal("text/event-stream", response.Content.Headers.ContentType!.MediaType);
        using var lines = new StreamReader(await response.Content.ReadAsStreamAsync(Cancellation), Encoding.UTF8);
        var names = new List<string>();
        double fraction = 0;
        while (true)
        {
            string? name = await lines.ReadLineAsync(Cancellation), data = await lines.ReadLineAsync(Cancellation);
            Assert.Equal("", await lines.ReadLineAsync(Cancellation));
            names.Add(name!);
            JsonElement told = JsonDocument.Parse(data![6..]).RootElement;
            if (name != "event: finding")
            {
                Assert.True(told.GetProperty("fraction").GetDouble() >= fraction);
                fraction = told.GetProperty("fraction").GetDouble();
            }

            if (name == "event: state" && told.GetProperty("state").GetString() == "placed")
            {
                break;
            }
        }

        Assert.Equal("event: state", names[0]);
        Assert.Equal(1, fraction);
        Assert.DoesNotContain("event: stage", names.SkipWhile(name => name != "event: finding"));
    }

    [Fact]
    public async Task Deleting_stops_a_placement_and_removes_every_trace()
    {
        await using RunningService service = await StartAsync(options => options with { Workers = 1 });
        string head = await service.HeadAsync();
        for (int i = 0; i < 2; i++)
        {
            (_, JsonElement placement) = await service.SendAsync(HttpMethod.Post, $"/v1/heads/{head}/placements");
            string id = placement.GetProperty("id").GetString()!;
            Assert.Equal(204, (await service.SendAsync(HttpMethod.Delete, $"/v1/placements/{id}")).Status);
            Assert.Equal(404, (await service.SendAsync(HttpMethod.Get, $"/v1/placements/{id}")).Status);
        }

        await service.PlacedAsync(head); // the worker has gone on
        Assert.Single((await service.JsonAsync("/v1/placements")).GetProperty("placements").EnumerateArray());
        Assert.Equal(2, HeadsApiTests.FilesOf(service).Count); // the head, and the placement.json of the last
    }

    [Fact]
    public async Task Thing_that_is_no_head_fails_with_the_reason()
    {
        (int status, JsonElement head) = await placed.Service.UploadAsync(Encoding.UTF8.GetBytes(Triangle), "triangle.obj");
        Assert.Equal(201, status);
        (_, JsonElement placement) = await placed.Service.SendAsync(HttpMethod.Post, $"/v1/heads/{head.GetProperty("id").GetString()}/placements");
        string id = placement.GetProperty("id").GetString()!;
        Assert.Equal("failed", await placed.Service.EndedAsync(id));
        JsonElement error = (await placed.Service.JsonAsync($"/v1/placements/{id}")).GetProperty("error");
        Assert.Equal(422, error.GetProperty("status").GetInt32());
        Assert.Contains("no head found", error.GetProperty("reason").GetString(), StringComparison.Ordinal);
        Assert.Equal(409, (await placed.Service.EditAsync(id, 1, new { kind = "lockJoint", joint = "vertex" })).Status);
    }

    [Theory]
    [InlineData("""{"up":"w"}""", 422, "up")]
    [InlineData("""{"up":"y","front":"-y"}""", 422, "front")]
    [InlineData("""{"template":"none"}""", 422, "template")]
    [InlineData("""{"corrections":{"format":"autoplace.corrections"}}""", 422, "version")]
    [InlineData("""{"lattice":"huge"}""", 400, "$.lattice")]
    [InlineData("""{"colour":"red"}""", 400, "$.colour")]
    [InlineData("""{"parts":[""]}""", 422, "parts")]
    public async Task Options_that_cannot_be_are_refused_by_name(string options, int expected, string element)
    {
        (int status, JsonElement problem) = await placed.Service.SendAsync(
            HttpMethod.Post, $"/v1/heads/{placed.Head}/placements", JsonDocument.Parse(options).RootElement);
        Assert.Equal(expected, status);
        string told = problem.TryGetProperty("element", out JsonElement at) ? at.GetString()! : problem.GetProperty("reason").GetString()!;
        Assert.Contains(element, told, StringComparison.Ordinal);
    }

    /// <summary>Alone and in bulk; the same template with its joints named under "reduced" takes it.</summary>
    [Fact]
    public async Task Reduced_lattice_of_a_template_without_one_is_refused()
    {
        RunningService service = placed.Service;
        JsonNode template = JsonNode.Parse(File.ReadAllBytes(Path.Combine(DemoFile.Repository(), "src/AutoPlace.Core/Template/built-in.json")))!;
        string with = await AddAsync();
        template["reduced"] = new JsonArray();
        string without = await AddAsync();

        foreach ((string path, object wanted) in ((string, object)[])[
            ($"/v1/heads/{placed.Head}/placements", new { template = without, lattice = "reduced" }),
            ("/v1/bulks", new { heads = new[] { placed.Head }, template = without, lattice = "reduced" })])
        {
            (int refused, JsonElement problem) = await service.SendAsync(HttpMethod.Post, path, wanted);
            Assert.Equal(422, refused);
            Assert.Equal("lattice", problem.GetProperty("element").GetString());
            Assert.Contains("\"reduced\"", problem.GetProperty("reason").GetString(), StringComparison.Ordinal);
        }

        Assert.Equal(202, (await service.SendAsync(HttpMethod.Post, $"/v1/heads/{placed.Head}/placements", new { template = with, lattice = "reduced" })).Status);

        async Task<string> AddAsync() => (await service.SendAsync(HttpMethod.Post, "/v1/templates", JsonSerializer.SerializeToElement(template))).Body.GetProperty("id").GetString()!;
    }

    [Fact]
    public async Task Corrections_of_another_placement_are_kept()
    {
        RunningService service = placed.Service;
        string first = await service.PlacedAsync(placed.Head);
        double[] at = Position((await service.JsonAsync($"/v1/placements/{first}")).GetProperty("placement"), "lower_face_menton");
        double[] to = [at[0], Math.Round(at[1], 3), at[2]];
        (_, JsonElement moved) = await service.EditAsync(first, 1, new { kind = "moveJoint", joint = "lower_face_menton", position = to });
        JsonElement corrections = moved.GetProperty("revision").GetProperty("corrections");
        (_, JsonElement second) = await service.SendAsync(HttpMethod.Post, $"/v1/heads/{placed.Head}/placements", new { corrections });
        string id = second.GetProperty("id").GetString()!;
        Assert.Equal("placed", await service.EndedAsync(id));
        JsonElement kept = await service.JsonAsync($"/v1/placements/{id}/revisions/1");
        Assert.Equal(moved.GetProperty("placement").GetProperty("joints").GetRawText(), kept.GetProperty("placement").GetProperty("joints").GetRawText());
        Assert.Equal(corrections.GetRawText(), kept.GetProperty("revision").GetProperty("corrections").GetRawText());
    }

    [Fact]
    public async Task Views_show_the_landmarks_that_the_network_found()
    {
        JsonElement views = (await placed.Service.JsonAsync($"/v1/placements/{placed.Placement}/views")).GetProperty("views");
        Assert.Equal(6, views.GetArrayLength());
        foreach (JsonElement view in views.EnumerateArray())
        {
            byte[] png = await placed.Service.Client.GetByteArrayAsync(
                string.Create(CultureInfo.InvariantCulture, $"/v1/heads/{placed.Head}/views/{view.GetProperty("n").GetInt32()}.png?placement={placed.Placement}"), Cancellation);
            Assert.Equal(0x89, png[0]);
            bool whole = view.GetProperty("name").GetString()!.StartsWith("whole", StringComparison.Ordinal); // the close views leave the ears out
            foreach (JsonElement landmark in view.GetProperty("landmarks").EnumerateArray().Where(_ => whole))
            {
                Assert.InRange(landmark.GetProperty("x").GetDouble(), 0, view.GetProperty("width").GetInt32());
                Assert.InRange(landmark.GetProperty("y").GetDouble(), 0, view.GetProperty("height").GetInt32());
            }
        }

        // In the frontal view the subject's left is at the right of the image, and both eyes at one height.
        Dictionary<string, JsonElement> front = views[0].GetProperty("landmarks").EnumerateArray().ToDictionary(l => l.GetProperty("name").GetString()!);
        Assert.True(front["eye_centre_left"].GetProperty("x").GetDouble() > front["eye_centre_right"].GetProperty("x").GetDouble());
        Assert.Equal(404, (int)(await placed.Service.Client.GetAsync($"/v1/heads/{placed.Head}/views/6.png", Cancellation)).StatusCode);
    }
}
