using AutoPlace.Import;
using BenchmarkDotNet.Attributes;

namespace AutoPlace.Benchmarks.Import;

/// <summary>
/// Files of a million triangles (500,000 cut quads, 501,000 vertices), from disk cache to the finished scan: hashing,
/// welding and pairing included. The floor is reading the bytes of the same file into memory that is there already.
/// </summary>
[MemoryDiagnoser]
[Config(typeof(ShortConfig))]
public class MeshReaderBenchmarks
{
    private byte[] _buffer = [];
    private string _path = "";

    /// <summary>Extension of the file; PLY and STL are binary.</summary>
    [Params("glb", "ply", "stl", "obj", "off")]
    public string Format { get; set; } = "glb";

    /// <summary>Writes the file.</summary>
    [GlobalSetup]
    public void Setup()
    {
        _path = Path.Combine(Path.GetTempPath(), $"autoplace-benchmark-{Environment.ProcessId}.{Format}");
        File.WriteAllBytes(_path, MillionTriangles.Written(Format));
        _buffer = new byte[new FileInfo(_path).Length];
    }

    /// <summary>Removes the file.</summary>
    [GlobalCleanup]
    public void Cleanup() => File.Delete(_path);

    /// <summary>The floor.</summary>
    [Benchmark(Baseline = true)]
    public int Bytes()
    {
        using var handle = File.OpenHandle(_path);
        return RandomAccess.Read(handle, _buffer, 0);
    }

    /// <summary>The reader.</summary>
    [Benchmark]
    public HeadScan Scan() => MeshReader.Read(_path);
}
