using BenchmarkDotNet.Jobs;

namespace AutoPlace.Benchmarks;

/// <summary>As many runs as the statistics ask for; for numbers that are to be published.</summary>
public sealed class StandardConfig() : StageConfig(Job.Default);
