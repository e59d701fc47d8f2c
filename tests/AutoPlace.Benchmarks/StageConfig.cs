using BenchmarkDotNet.Configs;
using BenchmarkDotNet.Diagnosers;
using BenchmarkDotNet.Jobs;

namespace AutoPlace.Benchmarks;

/// <summary>What all benchmarks measure, by a job of their own unless the command line asks for another with <c>--job</c>.</summary>
public abstract class StageConfig : ManualConfig
{
    private protected StageConfig(Job job)
    {
        if (!Environment.GetCommandLineArgs().Any(a => a is "--job" or "-j"))
        {
            AddJob(job);
        }

        AddDiagnoser(MemoryDiagnoser.Default).WithBuildTimeout(TimeSpan.FromMinutes(10));
    }
}
