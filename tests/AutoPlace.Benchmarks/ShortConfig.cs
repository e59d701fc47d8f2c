using BenchmarkDotNet.Jobs;

namespace AutoPlace.Benchmarks;

/// <summary>A few runs: enough to see a factor, not ten per cent.</summary>
public sealed class ShortConfig() : StageConfig(Job.ShortRun);
