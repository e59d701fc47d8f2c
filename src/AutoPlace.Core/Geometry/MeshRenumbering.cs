namespace AutoPlace.Geometry;

/// <summary>By which numbers the vertices and faces of one mesh go in another of the same connectivity.</summary>
/// <param name="Vertices">For each vertex that in the other mesh.</param>
/// <param name="Faces">For each face that in the other mesh.</param>
public sealed record MeshRenumbering(int[] Vertices, int[] Faces)
{
    private const int Unknown = -1;

    /// <summary>Rounds in which a vertex takes in the colours of its neighbours: what lies farther away is told apart by walking.</summary>
    private const int ColourRounds = 8;

    /// <summary>So many places are tried at which a piece may begin, those nearest to it first once the largest piece lies on itself.</summary>
    private const int MostBeginnings = 64;

    /// <summary>
    /// Finds a numbering. Pieces are walked face by face on both meshes at once, from a place whose surroundings are rare
    /// (colour refinement, Weisfeiler and Leman 1968). Where a piece fits in several ways (an eyeball turned, the other
    /// eye) it is the one that lies nearest once the largest piece lies on itself by a similarity.
    /// </summary>
    /// <param name="mesh">A mesh.</param>
    /// <param name="other">Another one, faces in the same sense.</param>
    /// <param name="whole">How the first mesh lies on the other one; null where its largest piece is to tell.</param>
    /// <returns>Null when their connectivity differs, or a vertex has no face.</returns>
    public static MeshRenumbering? Find(PolygonMesh mesh, PolygonMesh other, SimilarityTransform? whole = null)
    {
        ArgumentNullException.ThrowIfNull(mesh);
        ArgumentNullException.ThrowIfNull(other);
        if (mesh.VertexCount != other.VertexCount || mesh.FaceCount != other.FaceCount || mesh.FaceVertices.Length != other.FaceVertices.Length)
        {
            return null;
        }

        var search = new Search(mesh, other, whole);
        return search.Run() ? new MeshRenumbering(search.Vertices, search.Faces) : null;
    }

    // Colours that don't depend on the numbering: of a vertex by its edges, then by its neighbours' again and again.
    private static ulong[] Colours(MeshAdjacency adjacency)
    {
        ulong[] colours = [.. Enumerable.Range(0, adjacency.VertexCount).Select(v => BitMixing.Mixed((ulong)((adjacency.Valence(v) * 64) + adjacency.VertexFaces(v).Length)))];
        for (int round = 0; round < ColourRounds; round++)
        {
            ulong[] next = new ulong[colours.Length];
            for (int v = 0; v < next.Length; v++)
            {
                ulong sum = 0;
                foreach (int edge in adjacency.VertexEdges(v))
                {
                    sum += BitMixing.Mixed(colours[adjacency.Edges[edge].Other(v)]);
                }

                next[v] = BitMixing.Mixed((colours[v] * 31) + sum);
            }

            colours = next;
        }

        return colours;
    }

    private sealed class Search(PolygonMesh mesh, PolygonMesh other, SimilarityTransform? whole)
    {
        private readonly MeshAdjacency _own = new(mesh), _others = new(other);
        private readonly int[] _back = Enumerable.Repeat(Unknown, other.VertexCount).ToArray();
        private SimilarityTransform? _whole = whole;

        public int[] Vertices { get; } = Enumerable.Repeat(Unknown, mesh.VertexCount).ToArray();

        public int[] Faces { get; } = Enumerable.Repeat(Unknown, mesh.FaceCount).ToArray();

        public bool Run()
        {
            ulong[] colours = Colours(_own), otherColours = Colours(_others);
            if (!colours.Order().SequenceEqual(otherColours.Order()))
            {
                return false;
            }

            ILookup<ulong, (int Face, int Corner)> beginnings = Corners(other).ToLookup(at => Beginning(other, otherColours, at.Face, at.Corner));
            int[] pieces = _own.FaceComponents(out int count);
            int[][] facesOf = new int[count][];
            foreach (IGrouping<int, int> piece in Enumerable.Range(0, mesh.FaceCount).GroupBy(f => pieces[f]))
            {
                facesOf[piece.Key] = [.. piece];
            }

            foreach (int[] piece in facesOf.OrderByDescending(faces => faces.Length))
            {
                // Faces that hang together by a vertex alone are walked one after the other.
                while (piece.Where(f => Faces[f] == Unknown).ToArray() is { Length: > 0 } left)
                {
                    (int Face, int Corner) rarest = left.SelectMany(f => Enumerable.Range(0, mesh.Face(f).Length).Select(k => (f, k)))
                        .MinBy(at => beginnings[Beginning(mesh, colours, at.f, at.k)].Count());
                    if (!Place(rarest, beginnings[Beginning(mesh, colours, rarest.Face, rarest.Corner)]))
                    {
                        return false;
                    }
                }
            }

            return !Vertices.Contains(Unknown) && Faces.Distinct().Count() == Faces.Length;
        }

        private bool Place((int Face, int Corner) from, IEnumerable<(int Face, int Corner)> beginnings)
        {
            (double least, Walk? best) = (double.PositiveInfinity, null);
            Vector3d start = mesh.Positions[mesh.Face(from.Face)[from.Corner]];
            IEnumerable<(int Face, int Corner)> nearest = _whole is null ? beginnings
                : beginnings.OrderBy(at => (_whole.Apply(start) - other.Positions[other.Face(at.Face)[at.Corner]]).LengthSquared);
            foreach ((int face, int corner) in nearest.Take(MostBeginnings))
            {
                var walk = new Walk(this);
                if (walk.From(from, (face, corner)) && Off(walk) is double off && off < least)
                {
                    (least, best) = (off, walk);
                }
            }

            if (best is null)
            {
                return false;
            }

            _whole ??= Fit(best);
            foreach ((int vertex, int twin) in best.Vertices)
            {
                (Vertices[vertex], _back[twin]) = (twin, vertex);
            }

            foreach ((int face, int twin) in best.Faces)
            {
                Faces[face] = twin;
            }

            return true;
        }

        private double Off(Walk walk)
        {
            SimilarityTransform whole = _whole ?? Fit(walk);
            return walk.Vertices.Count == 0 ? 0 : walk.Vertices.Average(pair => (whole.Apply(mesh.Positions[pair.Key]) - other.Positions[pair.Value]).LengthSquared) / (whole.Scale * whole.Scale);
        }

        private SimilarityTransform Fit(Walk walk) => ProcrustesAlignment.Align(
            [.. walk.Vertices.Keys.Select(v => (Vector3d)mesh.Positions[v])], [.. walk.Vertices.Values.Select(v => (Vector3d)other.Positions[v])]);

        private static IEnumerable<(int Face, int Corner)> Corners(PolygonMesh of) =>
            Enumerable.Range(0, of.FaceCount).SelectMany(f => Enumerable.Range(0, of.Face(f).Length).Select(k => (f, k)));

        private static ulong Beginning(PolygonMesh of, ulong[] colours, int face, int corner)
        {
            ReadOnlySpan<int> corners = of.Face(face);
            ulong sum = (ulong)corners.Length;
            for (int k = 0; k < corners.Length; k++)
            {
                sum = BitMixing.Mixed((sum * 31) + colours[corners[(corner + k) % corners.Length]]);
            }

            return sum;
        }

        // One piece on both meshes at once.
        private sealed class Walk(Search search)
        {
            private readonly Dictionary<int, int> _twins = [];
            private readonly Queue<((int Face, int Corner, int Step) Own, (int Face, int Corner, int Step) Other)> _open = new();

            public Dictionary<int, int> Vertices { get; } = [];

            public Dictionary<int, int> Faces { get; } = [];

            public bool From((int Face, int Corner) own, (int Face, int Corner) other)
            {
                Push((own.Face, own.Corner, 1), (other.Face, other.Corner, 1));
                while (_open.TryDequeue(out var pair))
                {
                    if (!Match(pair.Own, pair.Other))
                    {
                        return false;
                    }
                }

                return true;
            }

            private void Push((int Face, int Corner, int Step) own, (int Face, int Corner, int Step) other)
            {
                if (Faces.TryAdd(own.Face, other.Face))
                {
                    _open.Enqueue((own, other));
                }
            }

            private bool Match((int Face, int Corner, int Step) own, (int Face, int Corner, int Step) other)
            {
                int[] corners = Round(search.Mesh, own), others = Round(search.Other, other);
                if (corners.Length != others.Length || own.Step != other.Step || !corners.Zip(others).All(pair => Pair(pair.First, pair.Second)))
                {
                    return false;
                }

                for (int k = 0; k < corners.Length; k++)
                {
                    (int from, int to) = (corners[k], corners[(k + 1) % corners.Length]);
                    (int otherFrom, int otherTo) = (others[k], others[(k + 1) % others.Length]);
                    int next = Across(search._own, own.Face, from, to), otherNext = Across(search._others, other.Face, otherFrom, otherTo);
                    if ((next < 0) != (otherNext < 0))
                    {
                        return false;
                    }

                    if (next >= 0 && Faces.TryGetValue(next, out int known) && known != otherNext)
                    {
                        return false;
                    }

                    if (next >= 0)
                    {
                        Push(At(search.Mesh, next, from, to), At(search.Other, otherNext, otherFrom, otherTo));
                    }
                }

                return true;
            }

            private bool Pair(int vertex, int twin)
            {
                bool known = search.Vertices[vertex] != Unknown || search._back[twin] != Unknown;
                return known
                    ? search.Vertices[vertex] == twin
                    : Vertices.TryGetValue(vertex, out int had) ? had == twin
                    : _twins.TryAdd(twin, vertex) && Vertices.TryAdd(vertex, twin);
            }

            private static int[] Round(PolygonMesh of, (int Face, int Corner, int Step) at)
            {
                int[] corners = of.Face(at.Face).ToArray();
                return [.. Enumerable.Range(0, corners.Length).Select(k => corners[(at.Corner + (k * at.Step)) % corners.Length])];
            }

            // The face across an edge, and how the edge runs in it; steps backward are steps round the rest.
            private static (int Face, int Corner, int Step) At(PolygonMesh of, int face, int from, int to)
            {
                ReadOnlySpan<int> corners = of.Face(face);
                int at = corners.IndexOf(from);
                return (face, at, corners[(at + 1) % corners.Length] == to ? 1 : corners.Length - 1);
            }

            private static int Across(MeshAdjacency adjacency, int face, int from, int to)
            {
                int edge = adjacency.FindEdge(from, to);
                ReadOnlySpan<int> faces = edge < 0 ? [] : adjacency.EdgeFaces(edge);
                return faces.Length != 2 ? Unknown : faces[0] == face ? faces[1] : faces[0];
            }
        }

        private PolygonMesh Mesh => mesh;

        private PolygonMesh Other => other;
    }
}
