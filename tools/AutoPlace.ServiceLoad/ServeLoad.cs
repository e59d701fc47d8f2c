using System.Collections.Concurrent;
using System.CommandLine;
using System.Diagnostics;
using System.Globalization;
using System.Net;
using System.Net.Http.Json;
using System.Text.Json;

namespace AutoPlace.ServiceLoad;

/// <summary><c>serve</c>: uploads and placements from many clients at once, some of bad files; then whether anything was lost, doubled or broken.</summary>
internal static class ServeLoad
{
    /// <summary>One file in so many is bad.</summary>
    private const int BadOf = 5;

    internal static Command Command()
    {
        var uploads = new Option<int>("--uploads") { Description = "Files to upload, one in five of them bad.", DefaultValueFactory = _ => 200 };
        var clients = new Option<int>("--clients") { Description = "Clients at once.", DefaultValueFactory = _ => 16 };
        Option<string> demo = HeadVariants.Folder();
        var command = new Command("serve", "Uploads and placements from many clients through autoplace serve.") { uploads, clients, demo };
        command.SetAction((parsed, cancellation) => RunAsync(parsed.GetValue(uploads), parsed.GetValue(clients), parsed.GetValue(demo)!, cancellation));
        return command;
    }

    private static async Task<int> RunAsync(int uploads, int clients, string demo, CancellationToken cancellation)
    {
        DirectoryInfo folder = Directory.CreateTempSubdirectory("autoplace-load-");
        try
        {
            await using ServeRun serve = await ServeRun.StartAsync(folder.FullName, cancellation);
            using var memory = new MemoryWatch(serve.Process);
            var load = new Load(serve, new HeadVariants(demo));
            var clock = Stopwatch.StartNew();
            var parallel = new ParallelOptions { MaxDegreeOfParallelism = clients, CancellationToken = cancellation };
            await Parallel.ForEachAsync(Enumerable.Range(0, uploads), parallel, load.OneAsync);
            double accepted = clock.Elapsed.TotalSeconds;
            await serve.AwaitAllAsync(cancellation);
            return await load.ReportAsync(uploads, clients, (accepted, clock.Elapsed.TotalSeconds), memory.Samples, cancellation) ? 0 : 1;
        }
        finally
        {
            folder.Delete(recursive: true);
        }
    }

    private sealed class Load(ServeRun serve, HeadVariants variants)
    {
        private readonly ConcurrentDictionary<HttpStatusCode, int> _answers = [];
        private readonly ConcurrentBag<string> _heads = [];
        private readonly ConcurrentBag<string> _placements = [];
        private readonly ConcurrentBag<double> _uploadSeconds = [];

        public async ValueTask OneAsync(int number, CancellationToken cancellation)
        {
            bool isBad = number % BadOf == 0;
            byte[] file = isBad ? variants.Bad(number) : variants.Obj(number);
            long begin = Stopwatch.GetTimestamp();
            string? head = await SendAsync(() => serve.UploadAsync(file, $"{number}.obj", cancellation), cancellation);
            _uploadSeconds.Add(Stopwatch.GetElapsedTime(begin).TotalSeconds);
            if ((head is null) != isBad)
            {
                throw new InvalidOperationException($"file {number} was {(isBad ? "taken though it is bad" : "refused")}");
            }

            if (head is not null)
            {
                _heads.Add(head);
                _placements.Add(await SendAsync(() => serve.Client.PostAsJsonAsync($"/v1/heads/{head}/placements", new { }, cancellation), cancellation)
                    ?? throw new InvalidOperationException($"no placement for file {number}"));
            }
        }

        public async Task<bool> ReportAsync(
            int uploads, int clients, (double Accepted, double All) seconds, IReadOnlyList<(double Seconds, double Megabytes)> memory, CancellationToken cancellation)
        {
            JsonElement[] heads = await serve.ListAsync("heads", cancellation), placements = await serve.ListAsync("placements", cancellation);
            bool headsMatch = Ids(heads).SequenceEqual(_heads.Order(StringComparer.Ordinal)), placementsMatch = Ids(placements).SequenceEqual(_placements.Order(StringComparer.Ordinal));
            int placed = placements.Count(p => p.GetProperty("state").GetString() == "placed");
            int broken = _answers.Where(a => (int)a.Key >= 500 && a.Key != HttpStatusCode.ServiceUnavailable).Sum(a => a.Value);
            double most = memory.Max(m => m.Megabytes);
            double[] sorted = [.. _uploadSeconds.Order()];
            Say($"{uploads} uploads from {clients} clients: {_heads.Count} heads taken, {uploads - _heads.Count} bad files refused");
            Say($"answers: {string.Join(", ", _answers.OrderBy(a => a.Key).Select(a => $"{(int)a.Key} x {a.Value}"))}");
            Say($"all accepted after {seconds.Accepted:0.0} s, all placed after {seconds.All:0.0} s, {placements.Length / seconds.All:0.00} placements/s");
            Say($"upload {sorted[sorted.Length / 2]:0.00} s in the median, {sorted[^1]:0.00} s at most, waits for room included");
            Say($"{placed} of {placements.Length} placements placed, {placements.Length - placed} failed with a reason");
            Say($"lost or doubled: heads {(headsMatch ? "none" : "SOME")}, placements {(placementsMatch ? "none" : "SOME")}; broken answers: {broken}");
            Say($"memory at most {most:0} MB");
            return headsMatch && placementsMatch && broken == 0;
        }

        // A refusal for want of room is asked again after the time that it names; null for a bad file.
        private async Task<string?> SendAsync(Func<Task<HttpResponseMessage>> send, CancellationToken cancellation)
        {
            while (true)
            {
                using HttpResponseMessage answer = await send();
                _answers.AddOrUpdate(answer.StatusCode, 1, (_, count) => count + 1);
                if (answer.StatusCode is HttpStatusCode.TooManyRequests or HttpStatusCode.ServiceUnavailable)
                {
                    await Task.Delay(answer.Headers.RetryAfter?.Delta ?? TimeSpan.FromSeconds(1), cancellation);
                    continue;
                }

                return answer.IsSuccessStatusCode
                    ? (await answer.Content.ReadFromJsonAsync<JsonElement>(cancellation)).GetProperty("id").GetString()
                    : null;
            }
        }

        private static IEnumerable<string> Ids(JsonElement[] items) => items.Select(item => item.GetProperty("id").GetString()!).Order(StringComparer.Ordinal);

        private static void Say(FormattableString line) => Console.WriteLine(line.ToString(CultureInfo.InvariantCulture));
    }
}
