using BenchmarkDotNet.Configs;
using BenchmarkDotNet.Diagnosers;
using BenchmarkDotNet.Jobs;

namespace AutoPlace.Benchmarks;

/// <summary>As many runs as the statistics ask for; for numbers that are to be published.</summary>
public sealed class StandardConfig : ManualConfig
{
    public StandardConfig() => AddJob(Job.Default).AddDiagnoser(MemoryDiagnoser.Default).WithBuildTimeout(TimeSpan.FromMinutes(10));
}
