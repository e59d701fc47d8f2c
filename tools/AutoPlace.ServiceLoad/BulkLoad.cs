using System.CommandLine;
using System.Diagnostics;
using System.Globalization;

namespace AutoPlace.ServiceLoad;

/// <summary><c>bulk N</c>: N different heads through <c>autoplace bulk</c>; heads per second and memory, first half against second.</summary>
internal static class BulkLoad
{
    internal static Command Command()
    {
        var count = new Argument<int>("N") { Description = "Number of heads." };
        Option<string> demo = HeadVariants.Folder();
        var command = new Command("bulk", "Many generated heads through autoplace bulk.") { count, demo };
        command.SetAction((parsed, cancellation) => RunAsync(parsed.GetValue(count), parsed.GetValue(demo)!, cancellation));
        return command;
    }

    private static async Task<int> RunAsync(int count, string demo, CancellationToken cancellation)
    {
        DirectoryInfo folder = Directory.CreateTempSubdirectory("autoplace-bulk-");
        try
        {
            string heads = Path.Combine(folder.FullName, "heads");
            Directory.CreateDirectory(heads);
            var variants = new HeadVariants(demo);
            for (int i = 0; i < count; i++)
            {
                await File.WriteAllBytesAsync(Path.Combine(heads, string.Create(CultureInfo.InvariantCulture, $"{i:00000}.obj")), variants.Obj(i), cancellation);
            }

            var start = new ProcessStartInfo(Executable(), ["bulk", heads, "-o", Path.Combine(folder.FullName, "placed")]) { RedirectStandardError = true, RedirectStandardOutput = true };
            var clock = Stopwatch.StartNew();
            using Process process = Process.Start(start)!;
            using var memory = new MemoryWatch(process);
            var ends = new List<double>();
            Task<string> said = process.StandardOutput.ReadToEndAsync(cancellation);
            while (await process.StandardError.ReadLineAsync(cancellation) is { } line)
            {
                if (line.Contains(" of ", StringComparison.Ordinal))
                {
                    ends.Add(clock.Elapsed.TotalSeconds);
                }
            }

            await process.WaitForExitAsync(cancellation);
            Console.WriteLine((await said).TrimEnd());
            Report(ends, memory.Samples, process.ExitCode);
            return ends.Count == count && process.ExitCode is 0 or 1 ? 0 : 1;
        }
        finally
        {
            folder.Delete(recursive: true);
        }
    }

    private static void Report(List<double> ends, IReadOnlyList<(double Seconds, double Megabytes)> memory, int exitCode)
    {
        double middle = ends[(ends.Count / 2) - 1];
        (double first, double second) = (ends.Count / 2 / middle, (ends.Count - (ends.Count / 2)) / (ends[^1] - middle));
        double Most(bool later) => memory.Where(m => m.Seconds > middle == later).Select(m => m.Megabytes).DefaultIfEmpty().Max();
        Console.WriteLine(string.Create(CultureInfo.InvariantCulture, $"{ends.Count} heads in {ends[^1]:0.0} s, exit code {exitCode}"));
        Console.WriteLine(string.Create(CultureInfo.InvariantCulture, $"first half {first:0.00} heads/s, second half {second:0.00} heads/s"));
        Console.WriteLine(string.Create(CultureInfo.InvariantCulture, $"memory at most {Most(false):0} MB in the first half, {Most(true):0} MB in the second"));
    }

    internal static string Executable() => Path.Combine(AppContext.BaseDirectory, OperatingSystem.IsWindows() ? "autoplace.exe" : "autoplace");
}
