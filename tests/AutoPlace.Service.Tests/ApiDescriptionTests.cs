using System.Net.Http.Json;
using System.Text;
using System.Text.Json;
using Xunit;
using static AutoPlace.Service.Tests.RunningService;

namespace AutoPlace.Service.Tests;

/// <summary>Every operation of the description is called, and answers as it says.</summary>
public sealed class ApiDescriptionTests(PlacedHead placed) : IClassFixture<PlacedHead>
{
    private RunningService Service => placed.Service;

    [Fact]
    public async Task Every_operation_answers_as_described()
    {
        JsonElement description = await Service.JsonAsync("/openapi/v1.json");
        Assert.StartsWith("3.1", description.GetProperty("openapi").GetString(), StringComparison.Ordinal);
        Dictionary<string, Call> calls = await CallsAsync();
        var operations = description.GetProperty("paths").EnumerateObject()
            .SelectMany(path => path.Value.EnumerateObject().Select(operation => (Path: path.Name, Method: operation.Name, operation.Value)))
            .ToDictionary(operation => operation.Value.GetProperty("operationId").GetString()!);
        Assert.Equal(operations.Keys.Order(StringComparer.Ordinal), calls.Keys.Order(StringComparer.Ordinal));

        foreach ((string id, Call call) in calls)
        {
            (string path, string method, JsonElement operation) = operations[id];
            string filled = path;
            foreach ((string name, string value) in call.Values)
            {
                filled = filled.Replace($"{{{name}}}", value, StringComparison.Ordinal);
            }

            Assert.DoesNotContain('{', filled);
            using var request = new HttpRequestMessage(new HttpMethod(method.ToUpperInvariant()), filled + call.Query) { Content = call.Content };
            using HttpResponseMessage answer = await Service.Client.SendAsync(request, HttpCompletionOption.ResponseHeadersRead, Cancellation);
            string status = ((int)answer.StatusCode).ToString(System.Globalization.CultureInfo.InvariantCulture);
            Assert.True(answer.IsSuccessStatusCode, $"{id} gave {status}: {(answer.IsSuccessStatusCode ? "" : await answer.Content.ReadAsStringAsync(Cancellation))}");
            Assert.True(operation.GetProperty("responses").TryGetProperty(status, out JsonElement response), $"{id} gave {status}, which isn't described");
            if (answer.Content.Headers.ContentType?.MediaType is { } type)
            {
                Assert.True(response.GetProperty("content").TryGetProperty(type, out _), $"{id} gave {type}, which isn't described");
            }
        }
    }

    [Fact]
    public async Task Every_operation_on_something_says_that_it_may_not_be_there()
    {
        JsonElement description = await Service.JsonAsync("/openapi/v1.json");
        foreach (JsonProperty path in description.GetProperty("paths").EnumerateObject().Where(path => path.Name.Contains("{id}", StringComparison.Ordinal)))
        {
            foreach (JsonProperty operation in path.Value.EnumerateObject())
            {
                Assert.True(operation.Value.GetProperty("responses").TryGetProperty("404", out _), $"{operation.Name} {path.Name}");
            }
        }
    }

    // In the order in which they are called: what is deleted comes last.
    private async Task<Dictionary<string, Call>> CallsAsync()
    {
        string head = placed.Head, placement = placed.Placement;
        string spare = await Service.HeadAsync(), sparePlacement = await Service.PlacedAsync(spare);
        byte[] template = File.ReadAllBytes(Path.Combine(DemoFile.Repository(), "src/AutoPlace.Core/Template/built-in.json"));
        (_, JsonElement own) = await Service.SendAsync(HttpMethod.Post, "/v1/templates", JsonDocument.Parse(template).RootElement);
        (_, JsonElement bulk) = await Service.SendAsync(HttpMethod.Post, "/v1/bulks", new { heads = new[] { head } });
        string bulkId = bulk.GetProperty("id").GetString()!;
        await BulksApiTests.DoneAsync(Service, $"/v1/bulks/{bulkId}");
        JsonElement corrections = await Service.JsonAsync($"/v1/placements/{placement}/files/corrections.json");
        var upload = new MultipartFormDataContent { { new ByteArrayContent(DemoFile.Read(SmallHead)), "file", SmallHead } };
        object[] edits = [new { kind = "lockJoint", joint = "vertex" }];
        return new Dictionary<string, Call>
        {
            ["getLive"] = new(),
            ["getReady"] = new(),
            ["getMetrics"] = new(),
            ["uploadHead"] = new() { Content = upload },
            ["listHeads"] = new(),
            ["getHead"] = Of("id", head),
            ["getHeadMesh"] = Of("id", head),
            ["getHeadView"] = new() { Values = new() { ["id"] = head, ["file"] = "0.png" } },
            ["listDemoHeads"] = new(),
            ["addDemoHead"] = Of("name", SmallHead),
            ["placeHead"] = Of("id", head, JsonContent.Create(new { lattice = "reduced" })),
            ["listPlacements"] = new(),
            ["getPlacement"] = Of("id", placement),
            ["watchPlacement"] = Of("id", placement),
            ["listPlacementViews"] = Of("id", placement),
            ["addRevision"] = Of("id", placement, JsonContent.Create(new { @base = 1, edits })),
            ["listRevisions"] = Of("id", placement),
            ["getRevision"] = new() { Values = new() { ["id"] = placement, ["number"] = "2" } },
            ["nameRevision"] = new() { Values = new() { ["id"] = placement, ["number"] = "2" }, Content = JsonContent.Create(new { name = "mine" }) },
            ["importCorrections"] = new() { Values = new() { ["id"] = placement }, Query = "?base=2", Content = JsonContent.Create(corrections) },
            ["getPlacementJson"] = Of("id", placement),
            ["getCorrectionsJson"] = Of("id", placement),
            ["getJointsCsv"] = Of("id", placement),
            ["getPlacementGlb"] = Of("id", placement),
            ["getLatticePng"] = Of("id", placement),
            ["getLooksJson"] = Of("id", placement),
            ["listTemplates"] = new(),
            ["addTemplate"] = new() { Content = new StringContent(Encoding.UTF8.GetString(template), Encoding.UTF8, "application/json") },
            ["addBulk"] = new() { Content = JsonContent.Create(new { heads = new[] { head } }) },
            ["listBulks"] = new(),
            ["getBulk"] = Of("id", bulkId),
            ["getBulkReport"] = Of("id", bulkId),
            ["deleteBulk"] = Of("id", bulkId),
            ["deleteTemplate"] = Of("id", own.GetProperty("id").GetString()!),
            ["deletePlacement"] = Of("id", sparePlacement),
            ["deleteHead"] = Of("id", spare),
        };
    }

    private static Call Of(string name, string value, HttpContent? content = null) => new() { Values = new() { [name] = value }, Content = content };

    private sealed record Call
    {
        public Dictionary<string, string> Values { get; init; } = [];

        public string Query { get; init; } = "";

        public HttpContent? Content { get; init; }
    }
}
