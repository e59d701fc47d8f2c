using System.Net.Http.Json;
using System.Text.Json;

namespace AutoPlace.Sample;

/// <summary>Places a head by the service, moves a joint, and gives the table of joints.</summary>
public static class PlaceHead
{
    /// <summary>Runs it.</summary>
    /// <param name="service">A client with the service's address, and the key as X-Api-Key where one is needed.</param>
    /// <param name="head">Path of the head's file.</param>
    /// <param name="cancellation">Stops it.</param>
    /// <returns>Contents of joints.csv.</returns>
    public static async Task<string> RunAsync(HttpClient service, string head, CancellationToken cancellation = default)
    {
        using var form = new MultipartFormDataContent { { new StreamContent(File.OpenRead(head)), "file", Path.GetFileName(head) } };
        string id = Id(await service.PostAsync("/v1/heads", form, cancellation));
        string placement = Id(await service.PostAsJsonAsync($"/v1/heads/{id}/placements", new { lattice = "full" }, cancellation));
        JsonElement now;
        do
        {
            await Task.Delay(200, cancellation);
            now = await service.GetFromJsonAsync<JsonElement>($"/v1/placements/{placement}", cancellation);
        }
        while (now.GetProperty("state").GetString() is "queued" or "running");

        JsonElement chin = now.GetProperty("placement").GetProperty("joints").EnumerateArray().First(joint => joint.GetProperty("name").GetString() == "chin_end");
        object[] edits = [new { kind = "moveJoint", joint = "chin_end", position = chin.GetProperty("position"), carriesChildren = true }];
        (await service.PostAsJsonAsync($"/v1/placements/{placement}/revisions", new { @base = 1, edits, note = "checked" }, cancellation)).EnsureSuccessStatusCode();
        return await service.GetStringAsync($"/v1/placements/{placement}/files/joints.csv", cancellation);
    }

    private static string Id(HttpResponseMessage answer) =>
        JsonDocument.Parse(answer.EnsureSuccessStatusCode().Content.ReadAsStream()).RootElement.GetProperty("id").GetString()!;
}
