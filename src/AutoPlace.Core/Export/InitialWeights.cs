using System.Numerics;
using AutoPlace.Geometry;
using AutoPlace.Import;
using AutoPlace.Registration;
using AutoPlace.Template;

namespace AutoPlace.Export;

/// <summary>
/// Smooth weights to begin painting from. Each surface joint has a bump over the skin around it, measured along the
/// mesh's edges, so that lips and lids don't hold on to each other across the gap; what no bump reaches stays with the
/// lattice's first root. What joints share is blurred over a lip's height, so that the skin doesn't tear where joints that move
/// together lie beside others. Eyeballs turn with their eye, teeth and tongue with the nearest joint that rides on them,
/// other pieces of the head with the root.
/// </summary>
internal sealed class InitialWeights
{
    /// <summary>A bump ends at this multiple of the mean distance to the nearest joints.</summary>
    private const double ReachFactor = 2;

    /// <summary>How many nearest joints that mean is taken over.</summary>
    private const int Neighbours = 4;

    /// <summary>Bounds on that mean, in interocular distances.</summary>
    private const double SmallestSpacing = 0.08, LargestSpacing = 0.5;

    /// <summary>What a step from one joint's skin to another's is spread over, interocular distances: a lip's height.</summary>
    private const double Blur = 0.09;

    /// <summary>Bounds on the rounds of averaging and on vertices times rounds, and joints that have a share of a vertex meanwhile.</summary>
    private const int MostRounds = 48, MostWork = 2_000_000, MostShares = 12;

    /// <summary>A piece belongs to an eye or to the mouth's inside when its middle lies this near to the joint, in interocular distances.</summary>
    private const double PieceReach = 0.4;

    /// <summary>Pieces farther than this from the eyes' midpoint don't belong to the head, in interocular distances.</summary>
    private const double HeadReach = 4;

    private readonly TriangleMesh _mesh;
    private readonly MeshAdjacency _adjacency;
    private readonly IReadOnlyList<JointPlacement> _joints;
    private readonly List<(int Joint, double Weight)>[] _bumps;

    private InitialWeights(TriangleMesh mesh, IReadOnlyList<JointPlacement> joints)
    {
        _mesh = mesh;
        _adjacency = new MeshAdjacency(mesh);
        _joints = joints;
        _bumps = new List<(int, double)>[mesh.VertexCount];
    }

    /// <summary>Weights for every vertex of a head; null for vertices of pieces that don't belong to it.</summary>
    /// <param name="headMesh">The whole scan, head frame, interocular distances.</param>
    /// <param name="skin">The skin alone, over the same vertices.</param>
    /// <param name="joints">The lattice on this head, a root first.</param>
    /// <returns>Influences by vertex.</returns>
    internal static VertexInfluences?[] Compute(TriangleMesh headMesh, BoundingVolumeHierarchy skin, IReadOnlyList<JointPlacement> joints)
    {
        var weights = new InitialWeights(headMesh, joints);
        return weights.Compute(skin);
    }

    /// <summary>Weights for every vertex of a placed scan; pieces of its head that were left out when it was looked at go with the first root.</summary>
    /// <param name="result">The placement.</param>
    internal static VertexInfluences?[] Compute(PlacementResult result)
    {
        VertexInfluences?[] weights = Compute(result.HeadMesh, result.Skin, result.Placement.Joints);
        PolygonMesh scan = result.Scan.Mesh;
        int[] pieceOf = MeshComponents.Of(scan).FaceComponents.ToArray();
        foreach (IGrouping<int, int> piece in Enumerable.Range(0, scan.FaceCount).GroupBy(f => pieceOf[f]))
        {
            int[] vertices = [.. piece.SelectMany(f => scan.Face(f).ToArray()).Distinct()];
            if (vertices.All(v => weights[v] is null) && Middle(vertices).Length <= HeadReach)
            {
                foreach (int v in vertices)
                {
                    weights[v] = VertexInfluences.Rigid(0);
                }
            }
        }

        return weights;

        Vector3d Middle(int[] vertices) =>
            vertices.Aggregate(Vector3d.Zero, (sum, v) => sum + (Vector3d)result.HeadMesh.Positions[v]) / vertices.Length;
    }

    private VertexInfluences?[] Compute(BoundingVolumeHierarchy skin)
    {
        int[] pieces = _adjacency.VertexComponents(out int pieceCount);
        bool[] isSkin = new bool[pieceCount];
        foreach (int v in skin.Mesh.Indices)
        {
            isSkin[pieces[v]] = true;
        }

        AddBumps(skin);
        VertexInfluences?[] rigid = RigidPieces(pieces, pieceCount);
        var result = new VertexInfluences?[_mesh.VertexCount];
        bool[] blended = [.. pieces.Select(piece => piece >= 0 && isSkin[piece])];
        Share[] shares = Blurred(blended);
        for (int v = 0; v < result.Length; v++)
        {
            result[v] = pieces[v] < 0 ? null
                : !blended[v] ? rigid[pieces[v]]
                : VertexInfluences.Strongest([.. Of(shares, v).ToArray().Where(share => share.Weight > 0).Select(share => (share.Joint, (double)share.Weight))]);
        }

        return result;
    }

    // Each round every vertex takes half of its neighbours' mean; as many rounds as spread a step over the blur on edges of the usual
    // length. Coarse skin is left as it is.
    private Share[] Blurred(bool[] blended)
    {
        Share[] shares = new Share[blended.Length * MostShares], from = new Share[shares.Length];
        double[] lengths = [.. _adjacency.Edges.ToArray().Where(edge => blended[edge.Low])
            .Select(edge => (double)Vector3.Distance(_mesh.Positions[edge.Low], _mesh.Positions[edge.High])).Order()];
        int rounds = lengths.Length == 0 ? 0
            : (int)Math.Min(Math.Min(MostRounds, MostWork / blended.Length), 2 * Math.Pow(Blur / lengths[lengths.Length / 2], 2));
        Each(Blend);
        for (int round = 0; round < rounds; round++)
        {
            (shares, from) = (from, shares);
            Each(Average);
        }

        return shares;

        void Each(Action<int, List<Share>> sum) => Parallel.For(0, blended.Length, () => new List<Share>(), (v, _, sums) =>
        {
            if (blended[v])
            {
                sums.Clear();
                sum(v, sums);
                Keep(sums, Of(shares, v));
            }

            return sums;
        }, _ => { });

        void Average(int vertex, List<Share> sums)
        {
            Add(sums, Of(from, vertex), 0.5f);
            ReadOnlySpan<int> edges = _adjacency.VertexEdges(vertex);
            foreach (int edge in edges)
            {
                Add(sums, Of(from, _adjacency.Edges[edge].Other(vertex)), 0.5f / edges.Length);
            }
        }
    }

    // At the top of a bump its joint has all of the skin; where all bumps fade, the root takes over.
    private void Blend(int vertex, List<Share> sums)
    {
        List<(int Joint, double Weight)> bumps = _bumps[vertex] ?? [];
        double uncovered = 1 - bumps.Select(bump => bump.Weight).DefaultIfEmpty().Max();
        foreach ((int joint, double weight) in bumps)
        {
            sums.Add(new Share(joint, (float)weight));
        }

        Add(sums, [new Share(0, (float)(uncovered * uncovered))], 1);
    }

    private static void Add(List<Share> sums, ReadOnlySpan<Share> shares, float part)
    {
        foreach (Share share in shares)
        {
            if (share.Weight > 0)
            {
                int at = sums.FindIndex(other => other.Joint == share.Joint);
                if (at < 0)
                {
                    sums.Add(share with { Weight = share.Weight * part });
                }
                else
                {
                    sums[at] = share with { Weight = sums[at].Weight + (share.Weight * part) };
                }
            }
        }
    }

    // The greatest ones, summing up to 1.
    private static void Keep(List<Share> sums, Span<Share> kept)
    {
        sums.Sort(static (a, b) => b.Weight != a.Weight ? b.Weight.CompareTo(a.Weight) : a.Joint.CompareTo(b.Joint));
        float total = 0;
        for (int i = 0; i < kept.Length; i++)
        {
            kept[i] = i < sums.Count ? sums[i] : default;
            total += kept[i].Weight;
        }

        foreach (ref Share share in kept)
        {
            share = share with { Weight = share.Weight / total };
        }
    }

    private static Span<Share> Of(Share[] shares, int vertex) => shares.AsSpan(vertex * MostShares, MostShares);

    private void AddBumps(BoundingVolumeHierarchy skin)
    {
        var paths = new EdgePaths(_mesh, _adjacency);
        int[] surface = [.. Enumerable.Range(0, _joints.Count).Where(j => _joints[j].Joint.Kind == JointKind.Surface)];
        if (surface.Length == 0 || skin.Mesh.TriangleCount == 0)
        {
            return;
        }

        foreach (int j in surface)
        {
            Vector3d foot = Foot(_joints[j], skin, out int a, out int b, out int c);
            double reach = ReachFactor * Spacing(j, surface);
            paths.Visit([a, b, c], foot, reach, (vertex, distance) =>
            {
                double rest = 1 - ((distance / reach) * (distance / reach));
                (_bumps[vertex] ??= []).Add((j, rest * rest));
            });
        }
    }

    private Vector3d Foot(JointPlacement joint, BoundingVolumeHierarchy skin, out int a, out int b, out int c)
    {
        (TriangleMesh mesh, SurfacePoint foot) = joint.SkinPoint is SurfacePoint known
            ? (_mesh, known)
            : (skin.Mesh, skin.ClosestPoint((Vector3)joint.Position).Point);
        ReadOnlySpan<int> corners = mesh.Indices.Slice(3 * foot.Triangle, 3);
        (a, b, c) = (corners[0], corners[1], corners[2]);
        return mesh.Position(foot);
    }

    private double Spacing(int joint, int[] surface)
    {
        double[] nearest = [.. surface
            .Where(other => other != joint)
            .Select(other => Vector3d.Distance(_joints[other].Position, _joints[joint].Position))
            .Where(d => d > 0)
            .Order()
            .Take(Neighbours)];
        return Math.Clamp(nearest.Length > 0 ? nearest.Average() : LargestSpacing, SmallestSpacing, LargestSpacing);
    }

    private VertexInfluences?[] RigidPieces(int[] pieces, int pieceCount)
    {
        var middles = new Vector3d[pieceCount];
        int[] counts = new int[pieceCount];
        for (int v = 0; v < pieces.Length; v++)
        {
            if (pieces[v] >= 0)
            {
                middles[pieces[v]] += (Vector3d)_mesh.Positions[v];
                counts[pieces[v]]++;
            }
        }

        var rigid = new VertexInfluences?[pieceCount];
        for (int p = 0; p < pieceCount; p++)
        {
            Vector3d middle = middles[p] / counts[p];
            rigid[p] = middle.Length > HeadReach ? null : VertexInfluences.Rigid(CarrierOf(middle));
        }

        return rigid;
    }

    private int CarrierOf(Vector3d middle)
    {
        (int carrier, double nearest) = (0, PieceReach);
        for (int j = 0; j < _joints.Count; j++)
        {
            double distance = Vector3d.Distance(_joints[j].Position, middle);
            bool carries = _joints[j].Joint.Ride is Ride.EyeballLeft or Ride.EyeballRight or Ride.TeethUpper or Ride.TeethLower or Ride.Tongue;
            if (carries && distance < nearest)
            {
                (carrier, nearest) = (j, distance);
            }
        }

        return carrier;
    }

    private readonly record struct Share(int Joint, float Weight);
}
