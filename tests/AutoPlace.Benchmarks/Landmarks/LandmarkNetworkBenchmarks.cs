using AutoPlace.Landmarks;
using AutoPlace.Rendering;
using BenchmarkDotNet.Attributes;

namespace AutoPlace.Benchmarks.Landmarks;

/// <summary>
/// The installed landmark network on one view, and on the six views that a placement looks at, two at a time. The floor is
/// arithmetic: the network's operations (model.json's network.gflopPerView) at the processor's FP32 rate.
/// </summary>
[MemoryDiagnoser]
[Config(typeof(ShortConfig))]
public class LandmarkNetworkBenchmarks
{
    private const int Views = 6;

    private readonly ReadOnlyMemory<float>[] _planes = new ReadOnlyMemory<float>[Views];
    private LandmarkNetwork? _network;

    /// <summary>Loads the network and fills the views with noise; the time doesn't depend on what they show.</summary>
    [GlobalSetup]
    public void Setup()
    {
        _network = LandmarkModel.OpenDefault().CreateNetwork();
        var random = new Random(1);
        for (int i = 0; i < Views; i++)
        {
            float[] planes = new float[ViewTensor.Length(ModelContract.InputSize)];
            for (int p = 0; p < planes.Length; p++)
            {
                planes[p] = random.NextSingle();
            }

            _planes[i] = planes;
        }
    }

    /// <summary>Frees the network.</summary>
    [GlobalCleanup]
    public void Cleanup() => _network?.Dispose();

    /// <summary>One view on one thread.</summary>
    [Benchmark(Baseline = true)]
    public ViewPrediction OneView() => _network!.Predict(_planes[0].Span);

    /// <summary>Six views on all cores.</summary>
    [Benchmark]
    public ViewPrediction[] SixViews() => _network!.PredictAll(_planes);
}
