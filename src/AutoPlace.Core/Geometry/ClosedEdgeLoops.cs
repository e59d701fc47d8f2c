using System.Numerics;

namespace AutoPlace.Geometry;

/// <summary>A closed line along the edges of a mesh.</summary>
/// <param name="Vertices">Its vertices in sequence, the first one not repeated.</param>
/// <param name="Faces">For each edge, which leads from the vertex of that number to the next, the faces at it, or only one.</param>
internal sealed record ClosedEdgeLoop(int[] Vertices, int[][] Faces)
{
    /// <summary>
    /// By how much the surface turns over at the line, radians, positive where it is convex: the mean over the edges that
    /// have a face on either side, each as long as it is; null without any.
    /// </summary>
    /// <param name="mesh">The mesh.</param>
    /// <param name="positions">V positions.</param>
    /// <param name="outward">V directions away from the surface.</param>
    public double? Turn(PolygonMesh mesh, ReadOnlySpan<Vector3> positions, ReadOnlySpan<Vector3> outward)
    {
        double sum = 0, length = 0;
        for (int i = 0; i < Vertices.Length; i++)
        {
            int next = Vertices[(i + 1) % Vertices.Length];
            Vector3d from = positions[Vertices[i]], along = (Vector3d)positions[next] - from;
            if (Faces[i].Length == 2 && along.LengthSquared > 0)
            {
                Vector3d a = Away(mesh, positions, Faces[i][0], from, along), b = Away(mesh, positions, Faces[i][1], from, along);
                double turn = Math.PI - Math.Atan2(Vector3d.Cross(a, b).Length, Vector3d.Dot(a, b));
                double below = Vector3d.Dot(a.Normalized() + b.Normalized(), (Vector3d)outward[Vertices[i]] + outward[next]);
                sum += along.Length * (below < 0 ? turn : -turn);
                length += along.Length;
            }
        }

        return length > 0 ? sum / length : null;
    }

    // From an edge to the middle of a face, square to the edge.
    private static Vector3d Away(PolygonMesh mesh, ReadOnlySpan<Vector3> positions, int face, Vector3d from, Vector3d along)
    {
        Vector3d middle = Vector3d.Zero;
        foreach (int v in mesh.Face(face))
        {
            middle += positions[v];
        }

        middle = (middle * (1.0 / mesh.Face(face).Length)) - from;
        return middle - (along * (Vector3d.Dot(middle, along) / along.LengthSquared));
    }
}

/// <summary>The closed edge loops and borders in a part of a mesh.</summary>
internal static class ClosedEdgeLoops
{
    /// <summary>Where fewer of the faces are quads nobody laid lines through them: only borders count.</summary>
    private const double LeastQuads = 0.5;

    private const int FewestEdges = 6;

    /// <summary>
    /// Closed loops (<see cref="EdgeLoops"/>) of at least six edges, then closed borders. A line that leaves the part isn't closed.
    /// </summary>
    /// <param name="mesh">The mesh.</param>
    /// <param name="within">V flags: the faces all of whose corners are flagged are looked at.</param>
    public static IReadOnlyList<ClosedEdgeLoop> In(PolygonMesh mesh, ReadOnlySpan<bool> within)
    {
        var faces = new List<int>();
        bool[] atCut = new bool[mesh.VertexCount];
        for (int f = 0; f < mesh.FaceCount; f++)
        {
            bool inside = true;
            foreach (int v in mesh.Face(f))
            {
                inside &= within[v];
            }

            if (inside)
            {
                faces.Add(f);
                continue;
            }

            foreach (int v in mesh.Face(f))
            {
                atCut[v] = true;
            }
        }

        if (faces.Count == 0)
        {
            return [];
        }

        PolygonMesh part = mesh.Subset(faces, out int[] vertices);
        int quads = Enumerable.Range(0, part.FaceCount).Count(f => part.Face(f).Length == 4);
        var adjacency = new MeshAdjacency(part);
        IEnumerable<VertexPath> loops = quads >= LeastQuads * part.FaceCount ? EdgeLoops.All(adjacency) : [];
        return [.. loops.Concat(adjacency.Borders().Where(border => !border.Vertices.Any(v => atCut[vertices[v]])))
            .Where(path => path.IsClosed && path.EdgeCount >= FewestEdges)
            .Select(path => new ClosedEdgeLoop([.. path.Vertices.Select(v => vertices[v])], FacesOf(path)))];

        int[][] FacesOf(VertexPath path) => [.. path.Vertices.Select((v, i) => adjacency
            .EdgeFaces(adjacency.FindEdge(v, path.Vertices[(i + 1) % path.Vertices.Count])).ToArray().Select(f => faces[f]).ToArray())];
    }
}
