using System.Net;
using System.Text;
using System.Text.Json;
using Xunit;
using static AutoPlace.Service.Tests.RunningService;

namespace AutoPlace.Service.Tests;

public sealed class HeadsApiTests
{
    [Fact]
    public async Task Upload_is_described_by_its_contents()
    {
        await using RunningService service = await StartAsync();
        (int status, JsonElement head) = await service.UploadAsync(DemoFile.Read(SmallHead), "../../etc/mira\u202e.stl");
        Assert.Equal(201, status);
        Assert.Equal("mira.stl", head.GetProperty("name").GetString());
        Assert.Equal("obj", head.GetProperty("format").GetString());
        Assert.Equal(DemoFile.Read(SmallHead).Length, head.GetProperty("bytes").GetInt32());
        Assert.Equal(head.GetProperty("faces").GetInt32(), head.GetProperty("parts").EnumerateArray().Sum(p => p.GetProperty("faces").GetInt32()));
        JsonElement listed = (await service.JsonAsync("/v1/heads")).GetProperty("heads")[0];
        Assert.Equal(head.GetRawText(), listed.GetRawText());
    }

    public static TheoryData<string, string, string?> BadFiles => new()
    {
        { "nothing.obj", "", null },
        { "words.obj", "v 1 2 oops\n", "line 1" },
        { "scene.fbx", "; FBX 7.4.0 project file\n", null },
        { "torn.glb", "glTF\u0002\0\0\0", "header" },
    };

    [Theory]
    [MemberData(nameof(BadFiles))]
    public async Task Bad_file_is_refused_with_reason_and_leaves_nothing(string name, string contents, string? element)
    {
        await using RunningService service = await StartAsync();
        (int status, JsonElement problem) = await service.UploadAsync(Encoding.Latin1.GetBytes(contents), name);
        Assert.Equal(422, status);
        Assert.NotEmpty(problem.GetProperty("reason").GetString()!);
        Assert.Equal(element, problem.TryGetProperty("element", out JsonElement at) ? at.GetString() : null);
        Assert.Empty((await service.JsonAsync("/v1/heads")).GetProperty("heads").EnumerateArray());
        Assert.Empty(FilesOf(service));
    }

    [Fact]
    public async Task Too_large_file_is_refused_and_leaves_nothing()
    {
        await using RunningService service = await StartAsync(options => options with { MostHeadBytes = 10_000 });
        (int status, _) = await service.UploadAsync(DemoFile.Read(SmallHead), SmallHead);
        Assert.Equal(413, status);
        Assert.Empty(FilesOf(service));
    }

    [Fact]
    public async Task Request_without_file_is_refused()
    {
        await using RunningService service = await StartAsync();
        using var form = new MultipartFormDataContent { { new StringContent("x"), "other" } };
        using HttpResponseMessage empty = await service.Client.PostAsync("/v1/heads", form, Cancellation);
        Assert.Equal(HttpStatusCode.BadRequest, empty.StatusCode);
        Assert.Equal("application/problem+json", empty.Content.Headers.ContentType!.MediaType);
        (int status, _) = await service.SendAsync(HttpMethod.Post, "/v1/heads", new { file = "x" });
        Assert.Equal(415, status);
    }

    [Fact]
    public async Task Deletion_is_complete_and_spares_what_others_need()
    {
        await using RunningService service = await StartAsync();
        string first = await service.HeadAsync(), second = await service.HeadAsync();
        string placement = await service.PlacedAsync(first);
        Assert.Equal(200, (int)(await service.Client.GetAsync($"/v1/placements/{placement}/files/joints.csv", Cancellation)).StatusCode);
        Assert.True(FilesOf(service).Count >= 3); // head, placement.json, joints.csv
        Assert.Equal(204, (await service.SendAsync(HttpMethod.Delete, $"/v1/heads/{first}")).Status);
        Assert.Equal(404, (await service.SendAsync(HttpMethod.Get, $"/v1/placements/{placement}")).Status);
        Assert.Single(FilesOf(service)); // the same file is the second head's too
        Assert.Equal(204, (await service.SendAsync(HttpMethod.Delete, $"/v1/heads/{second}")).Status);
        Assert.Empty(FilesOf(service));
        Assert.Equal(0, new FileInfo(Path.Combine(service.Data, "autoplace.db-wal")).Length);
        Assert.DoesNotContain(SmallHead, Encoding.Latin1.GetString(await ReadSharedAsync(Path.Combine(service.Data, "autoplace.db"))), StringComparison.Ordinal);
    }

    [Fact]
    public async Task Mesh_has_entity_tag_and_ranges()
    {
        await using RunningService service = await StartAsync();
        string path = $"/v1/heads/{await service.HeadAsync()}/mesh.glb";
        using HttpResponseMessage whole = await service.Client.GetAsync(path, Cancellation);
        byte[] bytes = await whole.Content.ReadAsByteArrayAsync(Cancellation);
        Assert.StartsWith("glTF", Encoding.ASCII.GetString(bytes, 0, 4), StringComparison.Ordinal);
        using var again = new HttpRequestMessage(HttpMethod.Get, path) { Headers = { { "If-None-Match", whole.Headers.ETag!.Tag } } };
        Assert.Equal(HttpStatusCode.NotModified, (await service.Client.SendAsync(again, Cancellation)).StatusCode);
        using var piece = new HttpRequestMessage(HttpMethod.Get, path) { Headers = { { "Range", "bytes=8-11" } } };
        using HttpResponseMessage part = await service.Client.SendAsync(piece, Cancellation);
        Assert.Equal(HttpStatusCode.PartialContent, part.StatusCode);
        Assert.Equal(bytes[8..12], await part.Content.ReadAsByteArrayAsync(Cancellation));
    }

    [Theory]
    [InlineData("/v1/heads/..%2f..%2flock")]
    [InlineData("/v1/heads/..%2flock/mesh.glb")]
    [InlineData("/v1/demo-heads/..%2fautoplace.dll")]
    [InlineData("/v1/heads/%2e%2e/views/..%2f..%2fautoplace.db")]
    [InlineData("/v1/placements/x/files/..%2f..%2fautoplace.db")]
    [InlineData("/%2e%2e/%2e%2e/etc/passwd")]
    [InlineData("/..%5c..%5cautoplace.dll")]
    public async Task Path_out_of_the_service_leads_nowhere(string path)
    {
        await using RunningService service = await StartAsync();
        foreach (HttpMethod method in (HttpMethod[])[HttpMethod.Get, HttpMethod.Post, HttpMethod.Delete])
        {
            (int status, _) = await service.SendAsync(method, path);
            Assert.True(status is 404 or 405, $"{method} {path} gave {status}");
        }
    }

    internal static IReadOnlyList<string> FilesOf(RunningService service) =>
        [.. Directory.EnumerateFiles(Path.Combine(service.Data, "files"), "*", SearchOption.AllDirectories), .. Directory.EnumerateFiles(Path.Combine(service.Data, "waiting"))];

    private static async Task<byte[]> ReadSharedAsync(string path)
    {
        await using var file = new FileStream(path, FileMode.Open, FileAccess.Read, FileShare.ReadWrite);
        byte[] bytes = new byte[file.Length];
        await file.ReadExactlyAsync(bytes, Cancellation);
        return bytes;
    }
}
