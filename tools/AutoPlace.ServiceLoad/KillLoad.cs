using System.Collections.Concurrent;
using System.CommandLine;
using System.Net.Http.Json;
using System.Text.Json;

namespace AutoPlace.ServiceLoad;

/// <summary><c>kill</c>: kills the service amid placements, edits and a bulk, round after round; then whether all that it had acknowledged is there.</summary>
internal static class KillLoad
{
    internal static Command Command()
    {
        var jobs = new Option<int>("--jobs") { Description = "Placements, edits and heads of the bulk in each round.", DefaultValueFactory = _ => 20 };
        var rounds = new Option<int>("--rounds") { Description = "How often it is killed.", DefaultValueFactory = _ => 3 };
        Option<string> demo = HeadVariants.Folder();
        var command = new Command("kill", "Kills autoplace serve amid placements, edits and a bulk.") { jobs, rounds, demo };
        command.SetAction((parsed, cancellation) => RunAsync(parsed.GetValue(jobs), parsed.GetValue(rounds), parsed.GetValue(demo)!, cancellation));
        return command;
    }

    private static async Task<int> RunAsync(int jobs, int rounds, string demo, CancellationToken cancellation)
    {
        DirectoryInfo folder = Directory.CreateTempSubdirectory("autoplace-kill-");
        try
        {
            var work = new Work(jobs, new HeadVariants(demo));
            await using (ServeRun first = await ServeRun.StartAsync(folder.FullName, cancellation))
            {
                await work.PrepareAsync(first, cancellation);
            }

            for (int round = 0; round < rounds; round++)
            {
                await using ServeRun serve = await ServeRun.StartAsync(folder.FullName, cancellation);
                Task busy = work.BusyAsync(serve, cancellation);
                await work.EditedAsync(edits: jobs * (round + 1) / (rounds + 1), cancellation);
                string done = await Work.DoneAsync(serve, cancellation);
                serve.Process.Kill();
                Console.WriteLine($"round {round + 1}: killed with {done}");
                await busy;
            }

            bool whole;
            await using (ServeRun last = await ServeRun.StartAsync(folder.FullName, cancellation))
            {
                await last.AwaitAllAsync(cancellation);
                whole = await work.ReportAsync(last, cancellation);
            }

            await using ServeRun again = await ServeRun.StartAsync(folder.FullName, cancellation);
            bool orphans = again.Log.Any(line => line.Contains("without a row", StringComparison.Ordinal));
            Console.WriteLine($"files without a row at the next start: {(orphans ? "SOME" : "none")}");
            return whole && !orphans ? 0 : 1;
        }
        finally
        {
            folder.Delete(recursive: true);
        }
    }

    private sealed class Work(int jobs, HeadVariants variants)
    {
        private const string Joint = "brow_2_left";

        private readonly List<string> _heads = [];
        private readonly ConcurrentBag<string> _placements = [];
        private readonly ConcurrentBag<string> _bulks = [];
        private readonly ConcurrentDictionary<int, string> _revisions = [];
        private string _edited = "";
        private int _edits;

        public async Task PrepareAsync(ServeRun serve, CancellationToken cancellation)
        {
            for (int i = 0; i < jobs; i++)
            {
                _heads.Add(await IdAsync(await serve.UploadAsync(variants.Obj(i), $"{i}.obj", cancellation), cancellation));
            }

            _edited = await PlaceAsync(serve, _heads[0], cancellation);
            await serve.AwaitAllAsync(cancellation);
        }

        /// <summary>A bulk, placements and edits at the same time, until all is asked for or the service is gone.</summary>
        public async Task BusyAsync(ServeRun serve, CancellationToken cancellation)
        {
            _edits = 0;
            await Task.WhenAll(
                UntilGoneAsync(async () => _bulks.Add(await IdAsync(await serve.Client.PostAsJsonAsync("/v1/bulks", new { heads = _heads }, cancellation), cancellation))),
                UntilGoneAsync(async () =>
                {
                    foreach (string head in _heads)
                    {
                        await PlaceAsync(serve, head, cancellation);
                    }
                }),
                UntilGoneAsync(() => EditAsync(serve, cancellation)));
        }

        public async Task EditedAsync(int edits, CancellationToken cancellation)
        {
            while (Volatile.Read(ref _edits) < edits || _bulks.IsEmpty)
            {
                await Task.Delay(10, cancellation);
            }
        }

        public static async Task<string> DoneAsync(ServeRun serve, CancellationToken cancellation)
        {
            JsonElement[] placements = await serve.ListAsync("placements", cancellation);
            return string.Join(", ", placements.GroupBy(p => p.GetProperty("state").GetString()).OrderBy(g => g.Key, StringComparer.Ordinal).Select(g => $"{g.Count()} {g.Key}"));
        }

        public async Task<bool> ReportAsync(ServeRun serve, CancellationToken cancellation)
        {
            int changed = 0;
            foreach ((int number, string answer) in _revisions)
            {
                changed += await serve.Client.GetStringAsync($"/v1/placements/{_edited}/revisions/{number}", cancellation) == answer ? 0 : 1;
            }

            JsonElement[] placements = await serve.ListAsync("placements", cancellation);
            var there = placements.ToDictionary(p => p.GetProperty("id").GetString()!, p => p.GetProperty("state").GetString());
            int lost = _placements.Count(id => !there.ContainsKey(id)), unplaced = there.Count(p => p.Value != "placed"), rows = 0;
            foreach (string bulk in _bulks)
            {
                rows += (await serve.Client.GetFromJsonAsync<JsonElement>($"/v1/bulks/{bulk}", cancellation)).GetProperty("rows").GetArrayLength();
            }

            bool missing = !(await serve.Client.GetStringAsync("/metrics", cancellation)).Contains("autoplace_files_missing 0\n", StringComparison.Ordinal);
            Console.WriteLine($"{_revisions.Count} acknowledged revisions, {changed} lost or changed");
            Console.WriteLine($"{_placements.Count} acknowledged placements, {lost} lost; {_bulks.Count} bulks of {jobs} heads, {(_bulks.Count * jobs) - rows} rows lost");
            Console.WriteLine($"{there.Count} placements in all, {unplaced} not placed; missing files: {(missing ? "SOME" : "none")}");
            return changed == 0 && lost == 0 && unplaced == 0 && rows == _bulks.Count * jobs && !missing;
        }

        private async Task EditAsync(ServeRun serve, CancellationToken cancellation)
        {
            JsonElement now = await serve.Client.GetFromJsonAsync<JsonElement>($"/v1/placements/{_edited}", cancellation);
            double[] at = [.. now.GetProperty("placement").GetProperty("joints").EnumerateArray()
                .First(j => j.GetProperty("name").GetString() == Joint).GetProperty("position").EnumerateArray().Select(x => x.GetDouble())];
            int current = now.GetProperty("revision").GetInt32();
            for (int i = 0; i < jobs; i++, current++)
            {
                object[] edits = [new { kind = "moveJoint", joint = Joint, position = (double[])[at[0], at[1] + (0.0001 * i), at[2]] }];
                using HttpResponseMessage answer = await serve.Client.PostAsJsonAsync($"/v1/placements/{_edited}/revisions", new { @base = current, edits }, cancellation);
                answer.EnsureSuccessStatusCode();
                _revisions[current + 1] = await answer.Content.ReadAsStringAsync(cancellation);
                Interlocked.Increment(ref _edits);
            }
        }

        private async Task<string> PlaceAsync(ServeRun serve, string head, CancellationToken cancellation)
        {
            string id = await IdAsync(await serve.Client.PostAsJsonAsync($"/v1/heads/{head}/placements", new { }, cancellation), cancellation);
            _placements.Add(id);
            return id;
        }

        private static async Task UntilGoneAsync(Func<Task> work)
        {
            try
            {
                await work();
            }
            catch (Exception e) when (e is HttpRequestException { StatusCode: null } or IOException)
            {
                return; // killed
            }
        }

        private static async Task<string> IdAsync(HttpResponseMessage answer, CancellationToken cancellation)
        {
            using (answer)
            {
                answer.EnsureSuccessStatusCode();
                return (await answer.Content.ReadFromJsonAsync<JsonElement>(cancellation)).GetProperty("id").GetString()!;
            }
        }
    }
}
