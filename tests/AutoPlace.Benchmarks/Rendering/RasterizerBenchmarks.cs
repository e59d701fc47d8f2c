using System.Numerics;
using AutoPlace.Geometry;
using AutoPlace.Rendering;
using BenchmarkDotNet.Attributes;

namespace AutoPlace.Benchmarks.Rendering;

/// <summary>
/// One view of a mesh of 26,910 vertices and 53,360 triangles, and the six views that a placement needs. The floor is
/// memory traffic: reading the mesh once and writing 16 bytes a pixel.
/// </summary>
[MemoryDiagnoser]
[Config(typeof(ShortConfig))]
public class RasterizerBenchmarks
{
    private readonly TriangleMesh _mesh = HeadSizedMesh.Create();
    private Vector3[] _normals = [];
    private RasterVertex[] _vertices = [];
    private VisibilityBuffer _buffer = new(1);
    private VisibilityBuffer[] _buffers = [];
    private OrthographicView[] _views = [];
    private float[] _planes = [];

    /// <summary>Pixels a side.</summary>
    [Params(256, 512)]
    public int Size { get; set; }

    [GlobalSetup]
    public void Setup()
    {
        _views = [.. ViewRing.Whole(Size), .. ViewRing.Close(Size)];
        _buffers = [.. _views.Select(v => new VisibilityBuffer(v.Size))];
        _buffer = new VisibilityBuffer(Size);
        _normals = VertexNormals.AngleWeighted(_mesh);
        _vertices = new RasterVertex[_mesh.VertexCount];
        _planes = new float[ViewTensor.Length(Size)];
        RasterVertex.Project(_mesh.Positions, _views[1], _vertices);
        Rasterizer.RasterizeAll(_mesh, _views, _buffers);
    }

    [Benchmark]
    public void Clear() => _buffer.Clear();

    [Benchmark]
    public void Project() => RasterVertex.Project(_mesh.Positions, _views[1], _vertices);

    [Benchmark(Baseline = true)]
    public void ClearAndDrawScalar()
    {
        _buffer.Clear();
        Rasterizer.DrawScalar(_mesh.Indices, _vertices, _buffer);
    }

    [Benchmark]
    public void ClearAndDrawWide()
    {
        _buffer.Clear();
        Rasterizer.DrawWide(_mesh.Indices, _vertices, _buffer);
    }

    [Benchmark]
    public void Rasterize()
    {
        _buffer.Clear();
        Rasterizer.Rasterize(_mesh, _views[1], _buffer);
    }

    [Benchmark]
    public void SixViewsOnAllCores() => Rasterizer.RasterizeAll(_mesh, _views, _buffers);

    [Benchmark]
    public void Tensor() => ViewTensor.Write(_buffers[1], _views[1], _mesh, _normals, [], _planes);
}
