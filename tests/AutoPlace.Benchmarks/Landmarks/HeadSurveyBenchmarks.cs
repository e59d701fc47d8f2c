using AutoPlace.Conditioning;
using AutoPlace.Import;
using AutoPlace.Landmarks;
using AutoPlace.Rendering;
using BenchmarkDotNet.Attributes;

namespace AutoPlace.Benchmarks.Landmarks;

/// <summary>
/// The survey of a whole figure for where its head may be, on all cores, beside one view of the landmark network on one:
/// 14 views and up to 12 closer ones of 1.06 GFLOP each, drawn and read, for one of 3.35.
/// </summary>
[MemoryDiagnoser]
[Config(typeof(ShortConfig))]
public class HeadSurveyBenchmarks
{
    private readonly float[] _planes = new float[ViewTensor.Length(ModelContract.InputSize)];
    private ScanSurface _figure = null!;
    private SurveyNetwork _survey = null!;
    private LandmarkNetwork _landmarks = null!;

    /// <summary>Loads networks and figure.</summary>
    [GlobalSetup]
    public void Setup()
    {
        _figure = ScanSurface.Of(MeshReader.Read(Path.Combine(AppContext.BaseDirectory, "demo", "senna.glb")), []);
        _survey = SurveyNetwork.OpenDefault();
        _landmarks = LandmarkModel.OpenDefault().CreateNetwork();
    }

    /// <summary>Frees the networks.</summary>
    [GlobalCleanup]
    public void Cleanup()
    {
        _survey.Dispose();
        _landmarks.Dispose();
    }

    /// <summary>One view of the landmark network, not drawn.</summary>
    [Benchmark(Baseline = true)]
    public ViewPrediction OneLandmarkView() => _landmarks.Predict(_planes);

    /// <summary>The whole survey.</summary>
    [Benchmark]
    public IReadOnlyList<HeadFrame> Survey() => HeadSurvey.Propose(_figure, _survey, CancellationToken.None);
}
