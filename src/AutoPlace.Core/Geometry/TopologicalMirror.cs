namespace AutoPlace.Geometry;

/// <summary>
/// Which vertex of a mesh is the twin of which when its connectivity is symmetric, whatever its shape: from an edge of
/// the seam outward, a face and its twin are walked round in opposite senses.
/// </summary>
public static class TopologicalMirror
{
    /// <summary>No twin is known.</summary>
    public const int None = -1;

    /// <summary>So many edges nearest to the plane are tried as a seam.</summary>
    private const int MostSeams = 64;

    /// <summary>Share of the seam's piece that has to have twins for its connectivity to count as symmetric.</summary>
    private const double LeastMatched = 0.9;

    /// <summary>Finds the twins of the vertices of one connected piece.</summary>
    /// <param name="mesh">Any polygons.</param>
    /// <param name="adjacency">Their adjacency.</param>
    /// <param name="offPlane">For each vertex its distance from the plane of symmetry, by amount; only to find the seam. Infinite for vertices of other pieces.</param>
    /// <returns>For each vertex its twin (a vertex of the seam is its own), or <see cref="None"/>; null when the connectivity isn't symmetric.</returns>
    public static int[]? Twins(PolygonMesh mesh, MeshAdjacency adjacency, ReadOnlySpan<double> offPlane)
    {
        ArgumentNullException.ThrowIfNull(mesh);
        ArgumentNullException.ThrowIfNull(adjacency);
        if (offPlane.Length != mesh.VertexCount)
        {
            throw new ArgumentException($"{offPlane.Length} distances for {mesh.VertexCount} vertices.", nameof(offPlane));
        }

        double[] distance = offPlane.ToArray();
        IEnumerable<int> seams = Enumerable.Range(0, adjacency.EdgeCount)
            .Where(e => adjacency.EdgeFaces(e).Length == 2 && double.IsFinite(Farther(e)))
            .OrderBy(Farther)
            .Take(MostSeams);
        foreach (int seam in seams)
        {
            (int a, int b) = adjacency.Edges[seam];
            int[] twins = new int[mesh.VertexCount];
            Array.Fill(twins, None);
            var walk = new Walk(mesh, adjacency, twins);
            if (walk.From(adjacency.EdgeFaces(seam)[0], adjacency.EdgeFaces(seam)[1], a, b) && walk.Matched >= LeastMatched * walk.Reachable)
            {
                return twins;
            }
        }

        return null;

        double Farther(int edge) => Math.Max(distance[adjacency.Edges[edge].Low], distance[adjacency.Edges[edge].High]);
    }

    // Pairs of faces with the edge by which they were reached.
    private sealed class Walk(PolygonMesh mesh, MeshAdjacency adjacency, int[] twins)
    {
        private readonly bool[] _seen = new bool[mesh.FaceCount];
        private readonly Queue<(int Face, int Twin, int From, int To, int TwinFrom, int TwinTo)> _open = new();

        public int Matched { get; private set; }

        public int Reachable { get; private set; }

        public bool From(int face, int twin, int a, int b)
        {
            Reachable = PieceSize(face);
            Push(face, twin, a, b, a, b);
            while (_open.TryDequeue(out var pair))
            {
                if (!Match(pair))
                {
                    return false;
                }
            }

            return true;
        }

        private void Push(int face, int twin, int from, int to, int twinFrom, int twinTo)
        {
            if (!_seen[face])
            {
                _seen[face] = true;
                _open.Enqueue((face, twin, from, to, twinFrom, twinTo));
            }
        }

        // Corner by corner, the twin backwards; false where both faces don't fit each other.
        private bool Match((int Face, int Twin, int From, int To, int TwinFrom, int TwinTo) pair)
        {
            int[] corners = Round(pair.Face, pair.From, pair.To), others = Round(pair.Twin, pair.TwinFrom, pair.TwinTo);
            if (corners.Length == 0 || corners.Length != others.Length || IsAlike(pair.Face, pair.From, pair.To) == IsAlike(pair.Twin, pair.TwinFrom, pair.TwinTo))
            {
                return false;
            }

            for (int k = 0; k < corners.Length; k++)
            {
                if (!Pair(corners[k], others[k]) || !Pair(others[k], corners[k]))
                {
                    return false;
                }
            }

            Matched++;
            for (int k = 0; k < corners.Length; k++)
            {
                (int from, int to) = (corners[k], corners[(k + 1) % corners.Length]);
                (int twinFrom, int twinTo) = (others[k], others[(k + 1) % others.Length]);
                if (Across(pair.Face, from, to) is var next && Across(pair.Twin, twinFrom, twinTo) is var nextTwin && next >= 0 && nextTwin >= 0)
                {
                    Push(next, nextTwin, from, to, twinFrom, twinTo);
                }
            }

            return true;
        }

        private bool Pair(int vertex, int twin)
        {
            if (twins[vertex] == None)
            {
                twins[vertex] = twin;
            }

            return twins[vertex] == twin;
        }

        // Corners of a face from one end of an edge over the other; empty when it hasn't the edge.
        private int[] Round(int face, int from, int to)
        {
            int[] corners = mesh.Face(face).ToArray();
            int at = Array.IndexOf(corners, from);
            if (at < 0)
            {
                return [];
            }

            int step = corners[(at + 1) % corners.Length] == to ? 1 : corners.Length - 1;
            return corners[(at + step) % corners.Length] == to
                ? [.. Enumerable.Range(0, corners.Length).Select(k => corners[(at + (k * step)) % corners.Length])]
                : [];
        }

        // True when the face runs along the edge in the given direction.
        private bool IsAlike(int face, int from, int to)
        {
            ReadOnlySpan<int> corners = mesh.Face(face);
            return corners[(corners.IndexOf(from) + 1) % corners.Length] == to;
        }

        private int Across(int face, int from, int to)
        {
            foreach (int edge in adjacency.VertexEdges(from))
            {
                if (adjacency.Edges[edge].Other(from) == to)
                {
                    ReadOnlySpan<int> faces = adjacency.EdgeFaces(edge);
                    return faces.Length != 2 ? -1 : faces[0] == face ? faces[1] : faces[0];
                }
            }

            return -1;
        }

        private int PieceSize(int face)
        {
            var seen = new HashSet<int> { face };
            var open = new Stack<int>([face]);
            while (open.TryPop(out int at))
            {
                foreach (int edge in adjacency.FaceEdges(at))
                {
                    if (edge >= 0)
                    {
                        foreach (int next in adjacency.EdgeFaces(edge))
                        {
                            if (seen.Add(next))
                            {
                                open.Push(next);
                            }
                        }
                    }
                }
            }

            return seen.Count;
        }
    }
}
