using BenchmarkDotNet.Configs;
using BenchmarkDotNet.Diagnosers;
using BenchmarkDotNet.Jobs;

namespace AutoPlace.Benchmarks;

/// <summary>A few runs, enough to see a factor, not ten per cent, unless the command line asks for another job with <c>--job</c>.</summary>
public sealed class ShortConfig : ManualConfig
{
    public ShortConfig()
    {
        if (!Environment.GetCommandLineArgs().Contains("--job"))
        {
            AddJob(Job.ShortRun);
        }

        AddDiagnoser(MemoryDiagnoser.Default).WithBuildTimeout(TimeSpan.FromMinutes(10));
    }
}
