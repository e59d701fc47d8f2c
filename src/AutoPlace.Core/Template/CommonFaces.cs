using System.Runtime.InteropServices;
using AutoPlace.Geometry;

namespace AutoPlace.Template;

/// <summary>
/// What two meshes have in common where neither has all of the other: faces that lie next to each other in the same way
/// on both. Each is paired with one face at most, and so is each vertex.
/// </summary>
internal sealed class CommonFaces
{
    /// <summary>So many faces far pairs go from those that are known for sure: over a neck or skull in plain rows, up to a cut. On the built-in head 16 leave gaps.</summary>
    private const int MostUnsure = 24;

    /// <summary>So many faces deep they go on where one mesh ends and near surroundings differ for that alone: a strip left between two cuts may be twice as wide as those look.</summary>
    private const int HemRings = 2 * HalfEdgeColours.NearRings;

    /// <summary>
    /// So many faces about a place where both meshes go on in different ways no pair stays: a loop of edges that was put into plain rows
    /// shows only where they end. Of 120 such loops on the built-in head 15 leave a joint in the wrong row until rows are looked at as
    /// well, with half as many faces 29.
    /// </summary>
    private const int DoubtRings = 2 * HalfEdgeColours.FarRings;

    /// <summary>Half-edges of a mesh that may share near surroundings which are still rare. On the built-in head 6 % of the faces; a grid of quads that was walked through from one chance pair has 2 % of those, a cut head most.</summary>
    private const int MostOfRare = 8;

    /// <summary>Of as many rare surroundings as are asked for, this share is to be seen at first sight; the others may be changed by cuts.</summary>
    private const double ShareAtSight = 0.25;

    /// <summary>
    /// So many times as wide as the row next to it, compared to the first mesh, a row of faces is where a loop of edges was put into
    /// that one, for so many edges on end. It is twice where the loop lies in the middle, and this where it lies a fifth from the far side; on heads of the cast that were cut it is nowhere.
    /// </summary>
    private const double Step = 1.25;

    private const int StepsOnEnd = 8;

    private const int Several = -1;

    private readonly HalfEdgeColours _own, _others;

    // By face the other mesh's half-edge that its first one is paired with.
    private readonly Dictionary<int, int> _twins = [];
    private readonly Dictionary<int, int> _vertices = [], _back = [];
    private readonly HashSet<int> _taken = [];

    private CommonFaces(HalfEdgeColours own, HalfEdgeColours others) => (_own, _others) = (own, others);

    /// <summary>
    /// Finds them. Half-edges whose wide surroundings both meshes have just once are known for sure. From there both are
    /// walked at once, as far as near surroundings are the same, and at last to where one mesh ends, but not where both go
    /// on in different ways nearby. O(corners), and no walk at all where nothing is alike.
    /// </summary>
    /// <param name="mesh">A mesh.</param>
    /// <param name="other">Another one, faces in the same sense.</param>
    /// <param name="leastShare">Least share of the first mesh's faces, and of those in rare surroundings: in a regular grid all look alike, and prove nothing.</param>
    /// <returns>Pairs in the order of the first mesh; null when they are fewer, or a loop of edges may have left them in the wrong rows.</returns>
    public static SharedTopology? Find(PolygonMesh mesh, PolygonMesh other, double leastShare)
    {
        // A cut mustn't look like a border that the mesh has itself.
        var common = new CommonFaces(new HalfEdgeColours(mesh, border: 1), new HalfEdgeColours(other, border: 2));
        HashSet<ulong> rare = common.RareColours();
        double least = leastShare * Enumerable.Range(0, mesh.FaceCount).Count(f => rare.Contains(common._own.Near[mesh.FaceStarts[f]]));
        if (least == 0 || Enumerable.Range(0, other.FaceCount).Count(f => rare.Contains(common._others.Near[other.FaceStarts[f]])) < ShareAtSight * least)
        {
            return null;
        }

        common.Walk(common.Sure(), MostUnsure, common.IsAlike);
        HashSet<int> clashes = common.Walk([.. common._twins.Select(pair => (mesh.FaceStarts[pair.Key], pair.Value))], HemRings, common.GoesOn);
        common.Doubt(mesh, clashes);
        if (common._twins.Count < leastShare * mesh.FaceCount || common._twins.Keys.Count(f => rare.Contains(common._own.Near[mesh.FaceStarts[f]])) < least
            || common.MayHaveHem(mesh) || common.HasSteps(mesh, other))
        {
            return null;
        }

        return new SharedTopology(
            [.. common._twins.Keys.SelectMany(face => mesh.Face(face).ToArray()).Distinct().Order().Select(v => (v, common._vertices[v]))],
            [.. common._twins.OrderBy(pair => pair.Key).Select(pair => (pair.Key, common._others.Face(pair.Value)))]);
    }

    private HashSet<ulong> RareColours()
    {
        var counts = new Dictionary<ulong, int>(_own.Near.Length);
        foreach (ulong colour in _own.Near)
        {
            CollectionsMarshal.GetValueRefOrAddDefault(counts, colour, out _)++;
        }

        return [.. counts.Where(count => count.Value <= MostOfRare).Select(count => count.Key)];
    }

    private List<(int Own, int Other)> Sure()
    {
        Dictionary<ulong, int> own = ByColour(_own.Far), others = ByColour(_others.Far);
        return [.. own.Where(at => at.Value != Several).Select(at => (Own: at.Value, Other: others.GetValueOrDefault(at.Key, Several)))
            .Where(pair => pair.Other != Several).Order().Where(pair => TryPair(pair.Own, pair.Other))];
    }

    private static Dictionary<ulong, int> ByColour(ulong[] colours)
    {
        var known = new Dictionary<ulong, int>(colours.Length);
        for (int h = 0; h < colours.Length; h++)
        {
            known[colours[h]] = known.ContainsKey(colours[h]) ? Several : h;
        }

        return known;
    }

    // From pairs on across edges, ring by ring. Returns the ends of edges beyond which both meshes go on differently.
    private HashSet<int> Walk(List<(int Own, int Other)> from, int rings, Func<int, int, bool> mayPair)
    {
        var open = new Queue<(int Own, int Other, int Ring)>(from.Select(pair => (pair.Own, pair.Other, 0)));
        var clashes = new HashSet<int>();
        while (open.TryDequeue(out (int Own, int Other, int Ring) at))
        {
            for (int k = 0; k < _own.Corners(at.Own) && at.Ring < rings; k++)
            {
                int own = _own.Opposite(_own.Along(at.Own, k)), other = _others.Opposite(_others.Along(at.Other, k));
                if (own < 0 || other < 0 || IsPair(own, other))
                {
                    continue;
                }

                if (mayPair(own, other) && TryPair(own, other))
                {
                    open.Enqueue((own, other, at.Ring + 1));
                }
                else
                {
                    clashes.UnionWith([_own.Start(own), _own.End(own)]);
                }
            }
        }

        return clashes;
    }

    private bool IsAlike(int own, int other) => _own.Near[own] == _others.Near[other];

    // At both ends of the edge as many faces meet on both meshes, unless one ends there.
    private bool GoesOn(int own, int other) => GoesOnAt(_own.Start(own), _others.Start(other)) && GoesOnAt(_own.End(own), _others.End(other));

    private bool GoesOnAt(int own, int other) => _own.Around(own) is not { } faces || _others.Around(other) is not { } others || faces == others;

    private void Doubt(PolygonMesh mesh, HashSet<int> clashes)
    {
        ILookup<int, int> facesOf = _twins.Keys.SelectMany(f => mesh.Face(f).ToArray().Select(v => (v, f))).ToLookup(at => at.v, at => at.f);
        int[] ring = [.. clashes];
        for (int r = 0; r < DoubtRings; r++)
        {
            int[] doubted = [.. ring.SelectMany(v => facesOf[v]).Where(_twins.Remove)];
            ring = [.. doubted.SelectMany(f => mesh.Face(f).ToArray()).Distinct()];
        }
    }

    // Beyond a border of the first mesh, but the longest, where a body is welded on, the other one goes on and soon ends as well. A
    // loop of edges put into any row around that border looks the same, and would leave all between in the wrong row.
    private bool MayHaveHem(PolygonMesh mesh)
    {
        IReadOnlyList<VertexPath> borders = new MeshAdjacency(mesh).Borders();
        return borders.Except(borders.OrderByDescending(border => border.Vertices.Count).Take(1)).Any(border =>
        {
            int[] beyond = Beyond(mesh, [.. border.Vertices]);
            return beyond.Length > 0 && EndsSoon(beyond);
        });
    }

    // The other mesh's half-edges that have no pair, across the edges of a border.
    private int[] Beyond(PolygonMesh mesh, HashSet<int> border) =>
        [.. from pair in _twins
            from k in Enumerable.Range(0, mesh.Face(pair.Key).Length)
            let own = _own.Along(mesh.FaceStarts[pair.Key], k)
            where _own.Opposite(own) < 0 && border.Contains(_own.Start(own))
            let beyond = _others.Opposite(_others.Along(pair.Value, k))
            where beyond >= 0 && !_taken.Contains(_others.Face(beyond))
            select beyond];

    private bool EndsSoon(int[] ring)
    {
        HashSet<int> seen = [.. ring.Select(_others.Face)];
        for (int r = 0; r < DoubtRings && ring.Length > 0; r++)
        {
            ring = [.. ring.SelectMany(h => Enumerable.Range(1, _others.Corners(h) - 1).Select(k => _others.Opposite(_others.Along(h, k))))
                .Where(h => h >= 0 && !_taken.Contains(_others.Face(h)) && seen.Add(_others.Face(h)))];
        }

        return ring.Length == 0;
    }

    // A row that was cut in two is half as wide as its neighbours are, all along.
    private bool HasSteps(PolygonMesh mesh, PolygonMesh other)
    {
        HashSet<int> steps = [.. _twins.Keys.SelectMany(f => Enumerable.Range(mesh.FaceStarts[f], mesh.Face(f).Length))
            .Where(h => _own.Opposite(h) is >= 0 and var across && Width(h) > Step * Width(across))];
        return steps.Any(h =>
        {
            int on = 0;
            for (int at = h; on < StepsOnEnd && steps.Contains(at); on++)
            {
                at = _own.Opposite(_own.Along(at, 1)) is >= 0 and var side ? _own.Along(side, 1) : Several;
            }

            return on == StepsOnEnd;
        });

        // Of a quad, across one of its edges and compared to the first mesh.
        double Width(int h)
        {
            if (_own.Corners(h) != 4 || !_twins.TryGetValue(_own.Face(h), out int first))
            {
                return double.NaN;
            }

            int twin = _others.Along(first, h - mesh.FaceStarts[_own.Face(h)]);
            return (Length(other, _others, _others.Along(twin, 1)) + Length(other, _others, _others.Along(twin, 3)))
                / (Length(mesh, _own, _own.Along(h, 1)) + Length(mesh, _own, _own.Along(h, 3)));
        }

        static double Length(PolygonMesh mesh, HalfEdgeColours of, int h) =>
            System.Numerics.Vector3.Distance(mesh.Positions[of.Start(h)], mesh.Positions[of.End(h)]);
    }

    private bool IsPair(int halfEdge, int twin) => _twins.TryGetValue(_own.Face(halfEdge), out int first) && first == First(halfEdge, twin);

    // The other mesh's half-edge for the first one of a face, by any pair of it; both have as many corners.
    private int First(int halfEdge, int twin) => _others.Along(twin, _own.StepsToFirst(halfEdge) % _others.Corners(twin));

    private bool TryPair(int halfEdge, int twin)
    {
        int corners = _own.Corners(halfEdge);
        if (corners != _others.Corners(twin) || _twins.ContainsKey(_own.Face(halfEdge)) || _taken.Contains(_others.Face(twin)))
        {
            return false;
        }

        for (int k = 0; k < corners; k++)
        {
            int own = _own.Start(_own.Along(halfEdge, k)), other = _others.Start(_others.Along(twin, k));
            if (_vertices.TryGetValue(own, out int known) ? known != other : _back.ContainsKey(other))
            {
                return false;
            }
        }

        for (int k = 0; k < corners; k++)
        {
            int own = _own.Start(_own.Along(halfEdge, k)), other = _others.Start(_others.Along(twin, k));
            (_vertices[own], _back[other]) = (other, own);
        }

        _twins.Add(_own.Face(halfEdge), First(halfEdge, twin));
        return _taken.Add(_others.Face(twin));
    }
}
