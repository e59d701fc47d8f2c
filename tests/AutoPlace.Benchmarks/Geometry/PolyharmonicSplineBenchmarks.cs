using AutoPlace.Geometry;
using BenchmarkDotNet.Attributes;

namespace AutoPlace.Benchmarks.Geometry;

/// <summary>
/// A spline through 1,200 uncertain points about a head, and 5,000 points mapped by it. The floor of the fit is its
/// 2.9e8 multiply-adds: 2 ms on two cores that do 16 in a nanosecond; of the map 1.8e7 square roots.
/// </summary>
[Config(typeof(ShortConfig))]
public class PolyharmonicSplineBenchmarks
{
    private const int SourceCount = 1200;
    private const int PointCount = 5000;

    private readonly Vector3d[] _sources = new Vector3d[SourceCount];
    private readonly Vector3d[] _targets = new Vector3d[SourceCount];
    private readonly double[] _variances = new double[SourceCount];
    private readonly Matrix3d[] _covariances = new Matrix3d[SourceCount];
    private readonly Vector3d[] _points = new Vector3d[PointCount];
    private readonly Vector3d[] _mapped = new Vector3d[PointCount];
    private PolyharmonicSpline _spline = null!;

    [GlobalSetup]
    public void Setup()
    {
        var random = new Random(1);
        Vector3d Direction() => new Vector3d(random.NextDouble() - 0.5, random.NextDouble() - 0.5, random.NextDouble() - 0.5).Normalized();
        for (int i = 0; i < SourceCount; i++)
        {
            Vector3d normal = Direction();
            _sources[i] = normal * (1 + (0.3 * random.NextDouble()));
            _targets[i] = _sources[i] + (Direction() * 0.05);
            _variances[i] = 0.001 * random.NextDouble();

            // Ten times as sure across the skin as along it.
            Matrix3d across = Matrix3d.Outer(normal, normal);
            Matrix3d covariance = (Matrix3d.Identity - (across * 0.99)) * 0.0025;
            _covariances[i] = (covariance + covariance.Transposed()) * 0.5;
        }

        for (int i = 0; i < PointCount; i++)
        {
            _points[i] = Direction() * 1.2;
        }

        _spline = PolyharmonicSpline.Fit(_sources, _targets, _variances, 1);
    }

    [Benchmark(Baseline = true)]
    public PolyharmonicSpline Fit() => PolyharmonicSpline.Fit(_sources, _targets, _variances, 1);

    [Benchmark]
    public PolyharmonicSpline FitWithCovariances() => PolyharmonicSpline.Fit(_sources, _targets, _covariances, 1);

    [Benchmark]
    public void Apply5000() => _spline.Apply(_points, _mapped);
}
