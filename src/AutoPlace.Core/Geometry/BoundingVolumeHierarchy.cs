using System.Numerics;

namespace AutoPlace.Geometry;

/// <summary>
/// Finds the nearest surface point and ray hits on a triangle mesh. Built once, then shared freely between threads.
/// What a query returns depends on the triangles' positions alone, to the last bit: not on their order, their winding,
/// the order of a triangle's corners or the number of threads. Of points equally near, the one with the lowest x (then
/// y, then z) is returned; of triangles that share it, the one with the lowest corners. Degenerate triangles count as
/// the segment or point they are for <see cref="ClosestPoint(Vector3, float)"/>, and rays pass them.
/// </summary>
public sealed partial class BoundingVolumeHierarchy
{
    /// <summary>Queries of one task in a batch.</summary>
    private const int BatchGrain = 256;

    /// <summary>Triangles of one task when the hierarchy is refitted.</summary>
    private const int RefitGrain = 4096;

    private readonly WideNode[] _nodes;
    private readonly LeafTriangle[] _triangles;
    private readonly int _pendingItems;

    /// <summary>Builds the hierarchy: binned surface area heuristic (Wald 2007), O(T log T).</summary>
    /// <param name="mesh">T triangles; none is fine, nothing is found then.</param>
    public BoundingVolumeHierarchy(TriangleMesh mesh)
    {
        ArgumentNullException.ThrowIfNull(mesh);
        Mesh = mesh;
        using var builder = new Builder(mesh);
        (_nodes, _triangles, _pendingItems) = builder.Build();
    }

    private BoundingVolumeHierarchy(TriangleMesh mesh, WideNode[] nodes, LeafTriangle[] triangles, int pendingItems)
    {
        Mesh = mesh;
        (_nodes, _triangles, _pendingItems) = (nodes, triangles, pendingItems);
    }

    /// <summary>The mesh that was indexed.</summary>
    public TriangleMesh Mesh { get; }

    /// <summary>All nodes; node 0 is the root, and children come after their parents.</summary>
    internal ReadOnlySpan<WideNode> Nodes => _nodes;

    /// <summary>The triangles, by slot.</summary>
    internal ReadOnlySpan<LeafTriangle> Triangles => _triangles;

    /// <summary>How many nodes can wait at once when a traversal goes depth first.</summary>
    internal int PendingItems => _pendingItems;

    /// <summary>
    /// The hierarchy of the same triangles at other places: boxes are measured anew, groups stay. O(T), a tenth of
    /// building it; as fast to ask as one built anew when the mesh was moved as a whole, slower the more it was bent.
    /// </summary>
    /// <param name="mesh">The mesh with its vertices moved; same triangles, same order.</param>
    /// <exception cref="ArgumentException">Another number of triangles.</exception>
    public BoundingVolumeHierarchy Refitted(TriangleMesh mesh)
    {
        ArgumentNullException.ThrowIfNull(mesh);
        if (mesh.TriangleCount != Mesh.TriangleCount)
        {
            throw new ArgumentException($"{mesh.TriangleCount} triangles where {Mesh.TriangleCount} were indexed.", nameof(mesh));
        }

        var triangles = new LeafTriangle[_triangles.Length];
        Parallel.For(0, (triangles.Length + RefitGrain - 1) / RefitGrain, range =>
        {
            int end = Math.Min(triangles.Length, (range + 1) * RefitGrain);
            for (int slot = range * RefitGrain; slot < end; slot++)
            {
                int triangle = _triangles[slot].Index;
                (Vector3 a, Vector3 b, Vector3 c) = mesh.Corners(triangle);
                triangles[slot] = new LeafTriangle(a, b, c, triangle);
            }
        });
        var nodes = new WideNode[_nodes.Length];
        var boxes = new (Vector3 Min, Vector3 Max)[_nodes.Length];
        for (int n = nodes.Length - 1; n >= 0; n--)
        {
            (Vector3 low, Vector3 high) = (new(float.PositiveInfinity), new(float.NegativeInfinity));
            for (int i = 0; i < _nodes[n].Count; i++)
            {
                int child = _nodes[n][i];
                (Vector3 min, Vector3 max) = child >= 0 ? boxes[child] : triangles[~child].Bounds;
                nodes[n].Add(min, max, child);
                (low, high) = (Vector3.Min(low, min), Vector3.Max(high, max));
            }

            boxes[n] = (low, high);
        }

        return new BoundingVolumeHierarchy(mesh, nodes, triangles, _pendingItems);
    }

    /// <summary>The surface point nearest to a query point, within reach. O(log T) as a rule.</summary>
    /// <param name="query">Query point, finite, in the mesh's frame.</param>
    /// <param name="maxDistance">Reach, in the mesh's unit; a point at just this distance is found.</param>
    /// <returns>The nearest point, or <see cref="SurfaceProximity.None"/>.</returns>
    /// <exception cref="ArgumentException">The query isn't finite, or the reach is negative or NaN.</exception>
    public SurfaceProximity ClosestPoint(Vector3 query, float maxDistance = float.PositiveInfinity)
    {
        return ClosestPoint(query, maxDistance, new Nearest { LeastCosine = double.NegativeInfinity });
    }

    /// <summary>The nearest point of the triangles that face a direction, within reach.</summary>
    /// <param name="query">Query point, finite, in the mesh's frame.</param>
    /// <param name="direction">Unit direction.</param>
    /// <param name="leastCosine">Cosine of the largest angle between the direction and a triangle's normal (counter-clockwise).</param>
    /// <param name="maxDistance">Reach, in the mesh's unit; a point at just this distance is found.</param>
    /// <returns>The nearest point, or <see cref="SurfaceProximity.None"/>; triangles without area face nowhere.</returns>
    /// <exception cref="ArgumentException">The query isn't finite, or the reach is negative or NaN.</exception>
    public SurfaceProximity ClosestFacing(Vector3 query, Vector3d direction, double leastCosine, float maxDistance = float.PositiveInfinity) =>
        ClosestPoint(query, maxDistance, new Nearest { Direction = direction, LeastCosine = leastCosine });

    private SurfaceProximity ClosestPoint(Vector3 query, float maxDistance, Nearest nearest)
    {
        ThrowUnlessFinite(query, nameof(query));
        if (!(maxDistance >= 0))
        {
            throw new ArgumentOutOfRangeException(nameof(maxDistance), maxDistance, "The reach must not be negative.");
        }

        (nearest.DistanceSquared, nearest.Slot) = ((double)maxDistance * maxDistance, -1);
        if (_triangles.Length > 0)
        {
            FindNearest(query, ref nearest);
        }

        return nearest.Slot < 0
            ? SurfaceProximity.None
            : new SurfaceProximity(
                _triangles[nearest.Slot].ToSurfacePoint(nearest.Weights),
                query + nearest.Offset,
                Math.Sqrt(nearest.DistanceSquared));
    }

    /// <summary>Nearest surface points of many queries; runs on several threads when there are many.</summary>
    /// <param name="queries">Query points, finite.</param>
    /// <param name="nearest">Receives one result for each query.</param>
    /// <param name="maxDistance">Reach of all queries.</param>
    /// <exception cref="ArgumentException">The spans differ in length, or as for a single query.</exception>
    public void ClosestPoint(
        ReadOnlySpan<Vector3> queries, Span<SurfaceProximity> nearest, float maxDistance = float.PositiveInfinity)
    {
        if (queries.Length != nearest.Length)
        {
            throw new ArgumentException($"{nearest.Length} results for {queries.Length} queries.", nameof(nearest));
        }

        if (queries.Length <= BatchGrain)
        {
            for (int i = 0; i < queries.Length; i++)
            {
                nearest[i] = ClosestPoint(queries[i], maxDistance);
            }

            return;
        }

        // A span can't cross into a task, so the batch works on copies: 12 and 56 bytes a query, against about 1 us.
        Vector3[] input = queries.ToArray();
        var output = new SurfaceProximity[input.Length];
        ForRanges(input.Length, i => output[i] = ClosestPoint(input[i], maxDistance));
        output.CopyTo(nearest);
    }

    /// <summary>The first hit along a ray, on either side of a triangle.</summary>
    /// <param name="origin">Start, finite.</param>
    /// <param name="direction">Direction, finite, not zero, of any length.</param>
    /// <param name="tMax">End of the ray, in lengths of the direction.</param>
    /// <returns>The hit with the smallest parameter in [0, tMax], or <see cref="RayHit.None"/>.</returns>
    /// <exception cref="ArgumentException">Origin or direction isn't finite, the direction is zero, tMax is NaN.</exception>
    public RayHit CastRay(Vector3 origin, Vector3 direction, float tMax = float.PositiveInfinity)
    {
        ThrowUnlessRay(origin, direction, tMax);
        var first = new FirstHit { Parameter = tMax, Slot = -1 };
        if (_triangles.Length > 0)
        {
            FindHit(origin, direction, ref first, stopAtAny: false);
        }

        return first.Slot < 0
            ? RayHit.None
            : new RayHit(
                _triangles[first.Slot].ToSurfacePoint(first.Weights),
                origin + ((Vector3d)direction * first.Parameter),
                first.Parameter,
                first.IsFrontFace);
    }

    /// <summary>First hits of many rays; runs on several threads when there are many.</summary>
    /// <param name="origins">Starts.</param>
    /// <param name="directions">Directions, one for each start.</param>
    /// <param name="hits">Receives one hit for each ray.</param>
    /// <param name="tMax">End of all rays, in lengths of the direction.</param>
    /// <exception cref="ArgumentException">The spans differ in length, or as for a single ray.</exception>
    public void CastRay(
        ReadOnlySpan<Vector3> origins, ReadOnlySpan<Vector3> directions, Span<RayHit> hits, float tMax = float.PositiveInfinity)
    {
        if (origins.Length != directions.Length || origins.Length != hits.Length)
        {
            throw new ArgumentException(
                $"{origins.Length} starts, {directions.Length} directions, {hits.Length} results.", nameof(hits));
        }

        if (origins.Length <= BatchGrain)
        {
            for (int i = 0; i < origins.Length; i++)
            {
                hits[i] = CastRay(origins[i], directions[i], tMax);
            }

            return;
        }

        Vector3[] starts = origins.ToArray(), ways = directions.ToArray();
        var output = new RayHit[starts.Length];
        ForRanges(starts.Length, i => output[i] = CastRay(starts[i], ways[i], tMax));
        output.CopyTo(hits);
    }

    /// <summary>True when a ray meets anything; cheaper than <see cref="CastRay(Vector3, Vector3, float)"/>.</summary>
    /// <param name="origin">Start, finite.</param>
    /// <param name="direction">Direction, finite, not zero, of any length.</param>
    /// <param name="tMax">End of the ray, in lengths of the direction.</param>
    /// <exception cref="ArgumentException">As for <see cref="CastRay(Vector3, Vector3, float)"/>.</exception>
    public bool MeetsRay(Vector3 origin, Vector3 direction, float tMax = float.PositiveInfinity)
    {
        ThrowUnlessRay(origin, direction, tMax);
        var first = new FirstHit { Parameter = tMax, Slot = -1 };
        return _triangles.Length > 0 && FindHit(origin, direction, ref first, stopAtAny: true);
    }

    private static void ForRanges(int count, Action<int> body)
    {
        int ranges = (count + BatchGrain - 1) / BatchGrain;
        Parallel.For(0, ranges, range =>
        {
            int end = Math.Min(count, (range + 1) * BatchGrain);
            for (int i = range * BatchGrain; i < end; i++)
            {
                body(i);
            }
        });
    }

    private static void ThrowUnlessRay(Vector3 origin, Vector3 direction, float tMax)
    {
        ThrowUnlessFinite(origin, nameof(origin));
        ThrowUnlessFinite(direction, nameof(direction));
        if (direction == Vector3.Zero)
        {
            throw new ArgumentException("The direction is zero.", nameof(direction));
        }

        if (float.IsNaN(tMax))
        {
            throw new ArgumentOutOfRangeException(nameof(tMax), tMax, "The end of the ray is not a number.");
        }
    }

    private static void ThrowUnlessFinite(Vector3 value, string name)
    {
        if (!float.IsFinite(value.X) || !float.IsFinite(value.Y) || !float.IsFinite(value.Z))
        {
            throw new ArgumentException($"{value} is not finite.", name);
        }
    }

    private struct Nearest
    {
        /// <summary>Triangles count whose normal has at least this cosine with the direction.</summary>
        public Vector3d Direction;
        public double LeastCosine;
        public double DistanceSquared;
        public Vector3d Offset;
        public Vector3d Weights;
        public int Slot;
    }

    private struct FirstHit
    {
        public double Parameter;
        public Vector3d Weights;
        public int Slot;
        public bool IsFrontFace;
    }
}
