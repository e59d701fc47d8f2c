using BenchmarkDotNet.Configs;
using BenchmarkDotNet.Diagnosers;
using BenchmarkDotNet.Jobs;

namespace AutoPlace.Benchmarks;

/// <summary>A few runs: enough to see a factor, not ten per cent.</summary>
public sealed class ShortConfig : ManualConfig
{
    public ShortConfig() => AddJob(Job.ShortRun).AddDiagnoser(MemoryDiagnoser.Default).WithBuildTimeout(TimeSpan.FromMinutes(10));
}
