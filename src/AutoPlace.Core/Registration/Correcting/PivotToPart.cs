using System.Numerics;
using AutoPlace.Geometry;

namespace AutoPlace.Registration.Correcting;

/// <summary>Moves a pivot to the centre of a piece of the mesh and locks it there: a ball's own centre, else the middle of the piece's surface.</summary>
/// <param name="Joint">Name of the joint.</param>
/// <param name="Triangle">A triangle of the piece, counted in <see cref="CorrectableHead.HeadMesh"/>.</param>
public sealed record PivotToPart(string Joint, int Triangle) : Edit
{
    /// <summary>Root mean square distance from the sphere, over its radius, up to which a piece counts as a ball (own choice: an iris or a cornea stands out by as much).</summary>
    private const double Roundness = 0.08;

    /// <summary>The edit that moves a pivot to the piece of some vertices that is nearest to a point: an eye of two that are one part, say.</summary>
    /// <param name="head">The head.</param>
    /// <param name="joint">Name of the joint.</param>
    /// <param name="vertices">Vertices of <see cref="CorrectableHead.HeadMesh"/>; triangles with all corners among them count.</param>
    /// <param name="point">The point, head frame, interocular distances.</param>
    /// <exception cref="CorrectionException">No triangle lies in them, or the point isn't finite.</exception>
    public static PivotToPart Nearest(CorrectableHead head, string joint, IReadOnlySet<int> vertices, Vector3d point)
    {
        ArgumentNullException.ThrowIfNull(head);
        ArgumentNullException.ThrowIfNull(vertices);
        TriangleMesh mesh = head.HeadMesh;
        (double best, int nearest) = (double.PositiveInfinity, -1);
        for (int t = 0; t < mesh.TriangleCount; t++)
        {
            ReadOnlySpan<int> corners = mesh.Indices.Slice(3 * t, 3);
            if (vertices.Contains(corners[0]) && vertices.Contains(corners[1]) && vertices.Contains(corners[2]))
            {
                (Vector3 a, Vector3 b, Vector3 c) = mesh.Corners(t);
                double distance = Vector3d.Distance(point, ((Vector3d)a + b + c) / 3);
                (best, nearest) = distance < best ? (distance, t) : (best, nearest);
            }
        }

        return nearest >= 0 ? new PivotToPart(joint, nearest) : throw new CorrectionException(joint, "the part has no triangle on this head");
    }

    /// <inheritdoc/>
    internal override Corrections Apply(Revision at)
    {
        TriangleMesh mesh = at.Head.HeadMesh;
        if (Triangle < 0 || Triangle >= mesh.TriangleCount)
        {
            throw new CorrectionException(Joint, $"the mesh has no triangle {Triangle}");
        }

        return new MoveJoint(Joint, Centre(mesh, Triangle)) { Influence = 0, Note = Note }.Apply(at);
    }

    /// <summary>Centre of the connected piece that a triangle belongs to, the mesh's frame.</summary>
    internal static Vector3d Centre(TriangleMesh mesh, int triangle)
    {
        int[] piece = Piece(mesh, triangle);
        Vector3d[] points = [.. piece.SelectMany(t => mesh.Indices.Slice(3 * t, 3).ToArray()).Distinct().Order().Select(v => (Vector3d)mesh.Positions[v])];
        if (points.Length > 3 && SphereFit.TryFit(points) is { } ball && ball.ResidualRms <= Roundness * ball.Radius)
        {
            return ball.Centre;
        }

        (Vector3d sum, double total) = (Vector3d.Zero, 0);
        foreach (int t in piece)
        {
            (Vector3 a, Vector3 b, Vector3 c) = mesh.Corners(t);
            double area = Vector3d.Cross((Vector3d)b - a, (Vector3d)c - a).Length;
            sum += ((Vector3d)a + b + c) * (area / 3);
            total += area;
        }

        return total > 0 ? sum / total : points[0];
    }

    // Triangles that hang together through shared vertices.
    private static int[] Piece(TriangleMesh mesh, int triangle)
    {
        var adjacency = new MeshAdjacency(mesh);
        var seen = new bool[mesh.TriangleCount];
        var piece = new List<int> { triangle };
        seen[triangle] = true;
        for (int next = 0; next < piece.Count; next++)
        {
            foreach (int v in mesh.Indices.Slice(3 * piece[next], 3))
            {
                foreach (int t in adjacency.VertexFaces(v))
                {
                    if (!seen[t])
                    {
                        seen[t] = true;
                        piece.Add(t);
                    }
                }
            }
        }

        return [.. piece];
    }
}
