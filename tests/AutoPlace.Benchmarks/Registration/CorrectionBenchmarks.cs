using AutoPlace.Geometry;
using AutoPlace.Import;
using AutoPlace.Registration;
using AutoPlace.Registration.Correcting;
using BenchmarkDotNet.Attributes;

namespace AutoPlace.Benchmarks.Registration;

/// <summary>
/// Solving a full lattice of 203 joints on the demonstration head after one more move, when so many joints were moved
/// before. The limit is 10 ms, so that joints follow a hand on the screen.
/// </summary>
[Config(typeof(ShortConfig))]
public class CorrectionBenchmarks
{
    private Revision _edited = null!;
    private MoveJoint _move = null!;

    /// <summary>Joints moved before.</summary>
    [Params(0, 10, 40)]
    public int MovedBefore { get; set; }

    /// <summary>Places the head and moves every fifth joint.</summary>
    [GlobalSetup]
    public void Setup()
    {
        using PlacementPipeline pipeline = PlacementPipeline.Open();
        HeadScan scan = MeshReader.Read(Path.Combine(AppContext.BaseDirectory, "demo", "maren.glb"));
        PlacementResult result = pipeline.Run(scan, PlacementOptions.Default, CancellationToken.None);
        _edited = Revision.First(result.Correctable!);
        for (int k = 0; k < MovedBefore; k++)
        {
            _edited = _edited.After(Up(result.Placement.Joints[5 * k]));
        }

        _move = Up(result.Placement.Joints[101]);
    }

    /// <summary>The edit and its solution.</summary>
    [Benchmark]
    public Revision Move() => _edited.After(_move);

    /// <summary>The solution alone.</summary>
    [Benchmark]
    public LatticePlacement Solve() => _edited.Head.Solve(_edited.Corrections);

    private static MoveJoint Up(JointPlacement joint) =>
        new(joint.Joint.Name, joint.Position + new Vector3d(0, 0.03, 0)) { AlongSkin = true };
}
