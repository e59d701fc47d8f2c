using System.Globalization;
using AutoPlace.Geometry;
using AutoPlace.Template;

namespace AutoPlace.Registration.Correcting;

/// <summary>
/// Lays a row onto the edge loop through an edge of the mesh and locks its joints there: its ends go to the nearest
/// points of the loop, the joints between keep their spacing. Joints that are locked already stay. A loop that runs along less than
/// half of the row is refused.
/// </summary>
/// <param name="Row">Name of the row.</param>
/// <param name="Edge">Two vertices of the mesh that an edge joins.</param>
public sealed record RowToLoop(string Row, (int From, int To) Edge) : Edit
{
    /// <summary>Least length of a row on a loop over what it was (own choice: shorter, and the loop ends before the row or crosses it, which draws joints together).</summary>
    private const double LeastShare = 0.5;

    /// <summary>The edit that lays a row onto the loop through the edge nearest to a point.</summary>
    /// <param name="head">The head.</param>
    /// <param name="row">Name of the row.</param>
    /// <param name="point">The point, head frame, interocular distances. Cost: one look at each edge.</param>
    /// <exception cref="CorrectionException">The mesh's polygons aren't known.</exception>
    public static RowToLoop Through(CorrectableHead head, string row, Vector3d point)
    {
        ArgumentNullException.ThrowIfNull(head);
        MeshAdjacency adjacency = head.Adjacency ?? throw new CorrectionException(row, "the mesh's polygons aren't known");
        (double best, MeshEdge nearest) = (double.PositiveInfinity, default);
        foreach (MeshEdge edge in adjacency.Edges)
        {
            Vector3d from = (Vector3d)head.HeadMesh.Positions[edge.Low], side = (Vector3d)head.HeadMesh.Positions[edge.High] - from;
            double t = side.LengthSquared > 0 ? Math.Clamp(Vector3d.Dot(point - from, side) / side.LengthSquared, 0, 1) : 0;
            double distance = Vector3d.Distance(point, from + (side * t));
            (best, nearest) = distance < best ? (distance, edge) : (best, nearest);
        }

        return double.IsFinite(best)
            ? new RowToLoop(row, (nearest.Low, nearest.High))
            : throw new CorrectionException(row, "the point has to be finite");
    }

    /// <inheritdoc/>
    internal override Corrections Apply(Revision at)
    {
        JointSequence row = at.Placement.Rows.FirstOrDefault(r => r.Name == Row) ?? throw new CorrectionException(Row, "there is no such row");
        PolygonalChain loop = Loop(at.Head);
        JointPlacement[] joints = [.. row.Joints.Select(at.Joint)];
        Vector3d[] targets = Along(loop, [.. joints.Select(joint => joint.Position)], row.Closed);
        double share = Length(targets) / Length(joints.Select(joint => joint.Position));
        if (share < LeastShare)
        {
            throw new CorrectionException(Row, string.Create(
                CultureInfo.InvariantCulture, $"the loop there runs along {share:F2} of the row, less than {LeastShare}: its joints would be drawn together"));
        }

        Corrections result = at.Corrections;
        for (int k = 0; k < joints.Length; k++)
        {
            string name = joints[k].Joint.Name;
            JointCorrection known = result.Joints.GetValueOrDefault(name) ?? new JointCorrection { Joint = name };
            if (!known.LocksPosition && !known.OfBodyRig)
            {
                JointPlacement automatic = at.Head.AutomaticJoint(name)!;
                result = result.With(WithPosition(at, automatic, known, at.Head.OntoSkin(automatic, targets[k])) with { Note = Note ?? known.Note });
            }
        }

        return result;
    }

    private static double Length(IEnumerable<Vector3d> points) => points.Zip(points.Skip(1)).Sum(pair => Vector3d.Distance(pair.First, pair.Second));

    private PolygonalChain Loop(CorrectableHead head)
    {
        MeshAdjacency adjacency = head.Adjacency ?? throw new CorrectionException(Row, "the mesh's polygons aren't known");
        for (int edge = 0; edge < adjacency.EdgeCount; edge++)
        {
            if (adjacency.Edges[edge] == new MeshEdge(Math.Min(Edge.From, Edge.To), Math.Max(Edge.From, Edge.To)))
            {
                VertexPath path = EdgeLoops.Through(adjacency, edge);
                return new PolygonalChain([.. path.Vertices.Select(v => (Vector3d)head.HeadMesh.Positions[v])], path.IsClosed);
            }
        }

        throw new CorrectionException(Row, $"no edge joins the vertices {Edge.From} and {Edge.To}");
    }

    /// <summary>Places along a loop for points that follow each other; lengths are measured along both.</summary>
    /// <param name="loop">The loop.</param>
    /// <param name="points">Where the joints are.</param>
    /// <param name="rowClosed">True when the row closes itself.</param>
    internal static Vector3d[] Along(PolygonalChain loop, Vector3d[] points, bool rowClosed)
    {
        var row = new PolygonalChain(points, closed: false);
        if (rowClosed || row.Length == 0)
        {
            return [.. points.Select(p => loop.Nearest(p).Position)];
        }

        (double first, double last) = (loop.Nearest(points[0]).Along, loop.Nearest(points[^1]).Along);

        // On a closed loop two ways lead from end to end: the one that lies nearer to the row.
        double[] ends = loop.IsClosed ? [last, last > first ? last - loop.Length : last + loop.Length] : [last];
        return ends.Select(end => row.Along.Select(along => loop.At(first + ((end - first) * along / row.Length)).Position).ToArray())
            .MinBy(way => way.Zip(points).Sum(pair => Vector3d.Distance(pair.First, pair.Second)))!;
    }
}
