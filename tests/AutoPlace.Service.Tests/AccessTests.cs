using System.Net;
using System.Net.Http.Headers;
using System.Text;
using Xunit;
using static AutoPlace.Service.Tests.RunningService;

namespace AutoPlace.Service.Tests;

public sealed class AccessTests
{
    private const string Key = "correct horse battery";

    [Theory]
    [InlineData("http://0.0.0.0:0")]
    [InlineData("http://*:0")]
    [InlineData("http://192.0.2.1:80")]
    public async Task Address_that_others_reach_needs_a_key(string url) => await Assert.ThrowsAsync<ArgumentException>(
        () => StartAsync(options => options with { Urls = ["http://127.0.0.1:0", url] }));

    [Fact]
    public async Task Key_is_needed_everywhere_but_for_health()
    {
        await using RunningService service = await StartAsync(options => options with { ApiKey = Key });
        Assert.Equal(200, await StatusAsync(service, "/health/live"));
        foreach (string path in (string[])["/", "/v1/heads", "/metrics", "/openapi/v1.json"])
        {
            using HttpResponseMessage refused = await service.Client.GetAsync(path, Cancellation);
            Assert.Equal(HttpStatusCode.Unauthorized, refused.StatusCode);
            Assert.Equal("Basic", refused.Headers.WwwAuthenticate.Single().Scheme);
        }

        Assert.Equal(401, await StatusAsync(service, "/v1/heads", request => request.Headers.Add("X-Api-Key", Key + "x")));
        Assert.Equal(401, await StatusAsync(service, "/v1/heads", request => request.Headers.Authorization = Basic("no base 64")));
        Assert.Equal(200, await StatusAsync(service, "/v1/heads", request => request.Headers.Add("X-Api-Key", Key)));
        Assert.Equal(200, await StatusAsync(service, "/v1/heads", request => request.Headers.Authorization = new AuthenticationHeaderValue("Bearer", Key)));
        Assert.Equal(200, await StatusAsync(service, "/v1/heads", request => request.Headers.Authorization = Basic(Convert.ToBase64String(Encoding.UTF8.GetBytes("me:" + Key)))));
        Assert.Equal(200, await StatusAsync(service, "/v1/heads", request => request.Headers.Authorization = Basic(Convert.ToBase64String(Encoding.UTF8.GetBytes(new string('m', 1000) + ":" + Key)))));
    }

    [Fact]
    public async Task Name_that_is_rebound_to_this_computer_is_refused()
    {
        await using RunningService service = await StartAsync();
        Assert.Equal(400, await StatusAsync(service, "/v1/heads", request => request.Headers.Host = "evil.example"));
        Assert.Equal(200, await StatusAsync(service, "/v1/heads", request => request.Headers.Host = "localhost:1234"));
    }

    [Fact]
    public async Task Page_of_another_site_can_change_and_read_nothing()
    {
        await using RunningService service = await StartAsync();
        string own = service.Client.BaseAddress!.GetLeftPart(UriPartial.Authority);
        string path = $"/v1/demo-heads/{SmallHead}";
        Assert.Equal(403, await StatusAsync(service, path, request => Post(request).Headers.Add("Origin", "https://evil.example")));
        Assert.Equal(403, await StatusAsync(service, path, request => Post(request).Headers.Add("Sec-Fetch-Site", "cross-site")));
        Assert.Equal(403, await StatusAsync(service, path, request => Post(request).Headers.Add("Origin", "null")));
        Assert.Equal(201, await StatusAsync(service, path, request => Post(request).Headers.Add("Origin", own)));
        using var asked = new HttpRequestMessage(HttpMethod.Options, "/v1/heads") { Headers = { { "Origin", "https://evil.example" }, { "Access-Control-Request-Method", "POST" } } };
        using HttpResponseMessage answer = await service.Client.SendAsync(asked, Cancellation);
        Assert.DoesNotContain(answer.Headers, header => header.Key.StartsWith("Access-Control", StringComparison.OrdinalIgnoreCase));
    }

    [Fact]
    public async Task Every_answer_forbids_scripts_and_frames_of_others()
    {
        await using RunningService service = await StartAsync();
        foreach (string path in (string[])["/", "/v1/heads", "/v1/heads/nothing", "/v1/nothing"])
        {
            using HttpResponseMessage answer = await service.Client.GetAsync(path, Cancellation);
            string policy = answer.Headers.GetValues("Content-Security-Policy").Single();
            Assert.StartsWith("default-src 'self';", policy, StringComparison.Ordinal);
            Assert.DoesNotContain("unsafe", policy, StringComparison.Ordinal);
            Assert.Equal("nosniff", answer.Headers.GetValues("X-Content-Type-Options").Single());
        }
    }

    [Fact]
    public async Task Too_many_requests_at_once_are_refused_with_a_time_to_wait()
    {
        await using RunningService service = await StartAsync(options => options with { MostRequestsAtOnce = 1 });
        using HttpResponseMessage refused = await UntilAsync(HttpStatusCode.TooManyRequests);
        Assert.True(refused.Headers.RetryAfter!.Delta > TimeSpan.Zero);
        Assert.Equal("application/problem+json", refused.Content.Headers.ContentType!.MediaType);
        using HttpResponseMessage taken = await UntilAsync(HttpStatusCode.OK);

        async Task<HttpResponseMessage> UntilAsync(HttpStatusCode status)
        {
            for (DateTime patience = DateTime.UtcNow.AddMinutes(1); ; Assert.True(DateTime.UtcNow < patience, $"never {status}"))
            {
                HttpResponseMessage answer = await service.Client.GetAsync("/v1/heads", Cancellation);
                if (answer.StatusCode == status)
                {
                    return answer;
                }

                answer.Dispose();
            }
        }
    }

    private static async Task<int> StatusAsync(RunningService service, string path, Action<HttpRequestMessage>? change = null)
    {
        using var request = new HttpRequestMessage(HttpMethod.Get, path);
        change?.Invoke(request);
        using HttpResponseMessage answer = await service.Client.SendAsync(request, Cancellation);
        return (int)answer.StatusCode;
    }

    private static HttpRequestMessage Post(HttpRequestMessage request)
    {
        request.Method = HttpMethod.Post;
        return request;
    }

    private static AuthenticationHeaderValue Basic(string credentials) => new("Basic", credentials);
}
