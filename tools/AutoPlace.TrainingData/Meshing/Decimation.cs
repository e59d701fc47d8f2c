using System.Numerics;
using AutoPlace.TrainingData.Sampling;

namespace AutoPlace.TrainingData.Meshing;

/// <summary>
/// Decimation by contraction: seeds on a jittered grid, every vertex joins the seed nearest along the edges, and each
/// such cell becomes the seed. Parts that touch in space but not along edges stay apart, so lips don't fuse.
/// </summary>
internal sealed class Decimation
{
    private const int Untouched = -2;
    private const int Unowned = -1;
    private readonly Queue<int> _front = new();
    private readonly Dictionary<(int, int, int), int> _grid = [];
    private float[] _distance = [];
    private int[] _owner = [];

    /// <summary>Decimates what the mesh holds.</summary>
    /// <param name="mesh">The mesh; unused vertices remain in it.</param>
    /// <param name="cell">Size of the grid's cells.</param>
    /// <param name="fineCell">Size of cells within the fine region.</param>
    /// <param name="fine">Says whether a position lies in the fine region.</param>
    /// <param name="salient">Vertices that become seeds whatever the grid says.</param>
    /// <param name="random">The head's stream.</param>
    public void Apply(
        WorkMesh mesh, float cell, float fineCell, Func<Vector3, bool> fine, ReadOnlySpan<int> salient, SeededRandom random)
    {
        int count = mesh.VertexCount;
        if (_owner.Length < count)
        {
            _owner = new int[2 * count];
            _distance = new float[2 * count];
        }

        Array.Fill(_owner, Untouched, 0, count);
        Array.Fill(_distance, float.PositiveInfinity, 0, count);
        PlaceSeeds(mesh, cell, fineCell, fine, salient, random);
        Grow(mesh);
        Contract(mesh);
    }

    private void PlaceSeeds(
        WorkMesh mesh, float cell, float fineCell, Func<Vector3, bool> fine, ReadOnlySpan<int> salient, SeededRandom random)
    {
        _front.Clear();
        _grid.Clear();
        var jitter = new Vector3(random.Unit(), random.Unit(), random.Unit());
        foreach (int v in salient)
        {
            AddSeed(v);
            _grid[Key(mesh.Positions[v], cell, fineCell, fine, jitter)] = v;
        }

        // Vertices without triangles never become seeds.
        Span<Vector3> positions = mesh.Positions;
        foreach (int v in mesh.Indices)
        {
            if (_owner[v] == Untouched)
            {
                _owner[v] = Unowned;
                if (_grid.TryAdd(Key(positions[v], cell, fineCell, fine, jitter), v))
                {
                    AddSeed(v);
                }
            }
        }
    }

    private void AddSeed(int vertex)
    {
        _owner[vertex] = vertex;
        _distance[vertex] = 0;
        _front.Enqueue(vertex);
    }

    private static (int X, int Y, int Z) Key(Vector3 p, float cell, float fineCell, Func<Vector3, bool> fine, Vector3 jitter)
    {
        bool isFine = fine(p);
        Vector3 q = (p / (isFine ? fineCell : cell)) + jitter;
        int offset = isFine ? 100000 : 0;
        return ((int)MathF.Floor(q.X) + offset, (int)MathF.Floor(q.Y), (int)MathF.Floor(q.Z));
    }

    // Shortest ways from all seeds at once, relaxed in turn (Bellman-Ford with a queue; edges are of similar length).
    private void Grow(WorkMesh mesh)
    {
        (int[] starts, int[] neighbours) = HeadRegions.VertexNeighbours(mesh.VertexCount, mesh.Indices);
        Span<Vector3> positions = mesh.Positions;
        while (_front.TryDequeue(out int v))
        {
            float reached = _distance[v];
            for (int i = starts[v]; i < starts[v + 1]; i++)
            {
                int n = neighbours[i];
                float distance = reached + Vector3.Distance(positions[v], positions[n]);
                if (distance < _distance[n])
                {
                    _distance[n] = distance;
                    _owner[n] = _owner[v];
                    _front.Enqueue(n);
                }
            }
        }
    }

    private void Contract(WorkMesh mesh)
    {
        Span<int> indices = mesh.Indices;
        for (int i = 0; i < indices.Length; i++)
        {
            indices[i] = _owner[indices[i]] >= 0 ? _owner[indices[i]] : indices[i];
        }

        mesh.KeepTriangles(t =>
        {
            Span<int> all = mesh.Indices;
            (int a, int b, int c) = (all[3 * t], all[(3 * t) + 1], all[(3 * t) + 2]);
            return a != b && b != c && c != a;
        });
    }
}
