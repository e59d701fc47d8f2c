using System.Numerics;
using AutoPlace.Geometry;
using AutoPlace.Import;
using BenchmarkDotNet.Attributes;

namespace AutoPlace.Benchmarks;

/// <summary>
/// The whole warm path from a scan to a checked placement, on the demonstration head with every polygon of its upper
/// half cut into quads (about 27,000 vertices). The floor is the network's 8 views: two crops of the head finder, three
/// whole and three close views, at 3.35 GFLOP each.
/// </summary>
[MemoryDiagnoser]
public class PlacementBenchmarks
{
    private PlacementPipeline _pipeline = null!;
    private HeadScan _scan = null!;

    /// <summary>Loads network, template and head.</summary>
    [GlobalSetup]
    public void Setup()
    {
        _pipeline = PlacementPipeline.Open();
        HeadScan scan = MeshReader.Read(Path.Combine(AppContext.BaseDirectory, "demo", "maren.glb"));
        _scan = Subdivided(scan);
        Console.WriteLine($"// {_scan.Mesh.VertexCount} vertices");
    }

    /// <summary>Frees the network.</summary>
    [GlobalCleanup]
    public void Cleanup() => _pipeline.Dispose();

    /// <summary>One placement.</summary>
    [Benchmark]
    public PlacementResult Place() => _pipeline.Run(_scan, PlacementOptions.Default, CancellationToken.None);

    // Each polygon above the chin gets its middle and the middles of its edges as further vertices.
    private static HeadScan Subdivided(HeadScan scan)
    {
        PolygonMesh mesh = scan.Mesh;
        var positions = new List<Vector3>(mesh.Positions.ToArray());
        var middles = new Dictionary<(int, int), int>();
        var starts = new List<int> { 0 };
        var corners = new List<int>();
        var parts = new List<int>();
        for (int f = 0; f < mesh.FaceCount; f++)
        {
            int[] face = mesh.Face(f).ToArray();
            Vector3 centre = face.Aggregate(Vector3.Zero, (sum, v) => sum + mesh.Positions[v]) / face.Length;
            if (centre.Y < -0.03f)
            {
                Add(face, f);
                continue;
            }

            positions.Add(centre);
            int middle = positions.Count - 1;
            for (int c = 0; c < face.Length; c++)
            {
                int before = face[(c + face.Length - 1) % face.Length], at = face[c], after = face[(c + 1) % face.Length];
                Add([Middle(before, at), at, Middle(at, after), middle], f);
            }
        }

        return new HeadScan
        {
            Source = scan.Source,
            Sha256 = scan.Sha256,
            Format = scan.Format,
            MetresPerUnit = scan.MetresPerUnit,
            Mesh = new PolygonMesh([.. positions], [.. starts], [.. corners]),
            Parts = scan.Parts,
            FaceParts = parts,
        };

        void Add(ReadOnlySpan<int> face, int source)
        {
            corners.AddRange(face);
            starts.Add(corners.Count);
            parts.Add(scan.FaceParts[source]);
        }

        int Middle(int a, int b)
        {
            (int, int) key = (Math.Min(a, b), Math.Max(a, b));
            if (!middles.TryGetValue(key, out int index))
            {
                positions.Add((positions[a] + positions[b]) / 2);
                middles.Add(key, index = positions.Count - 1);
            }

            return index;
        }
    }
}
