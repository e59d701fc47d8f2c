using AutoPlace.Geometry;
using AutoPlace.Template;

namespace AutoPlace.Registration.Correcting;

/// <summary>
/// Lays a row onto the edge loop through an edge of the mesh and locks its joints there: its ends go to the nearest
/// points of the loop, the joints between keep their spacing. Joints that are locked already stay.
/// </summary>
/// <param name="Row">Name of the row.</param>
/// <param name="Edge">Two vertices of the mesh that an edge joins.</param>
public sealed record RowToLoop(string Row, (int From, int To) Edge) : Edit
{
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
        Vector3d[] loop = Loop(at.Head, out bool closed);
        JointPlacement[] joints = [.. row.Joints.Select(at.Joint)];
        Vector3d[] targets = Along(loop, closed, [.. joints.Select(joint => joint.Position)], row.Closed);
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

    private Vector3d[] Loop(CorrectableHead head, out bool closed)
    {
        MeshAdjacency adjacency = head.Adjacency ?? throw new CorrectionException(Row, "the mesh's polygons aren't known");
        for (int edge = 0; edge < adjacency.EdgeCount; edge++)
        {
            if (adjacency.Edges[edge] == new MeshEdge(Math.Min(Edge.From, Edge.To), Math.Max(Edge.From, Edge.To)))
            {
                VertexPath path = EdgeLoops.Through(adjacency, edge);
                closed = path.IsClosed;
                return [.. path.Vertices.Select(v => (Vector3d)head.HeadMesh.Positions[v]), .. closed ? [(Vector3d)head.HeadMesh.Positions[path.Vertices[0]]] : Array.Empty<Vector3d>()];
            }
        }

        throw new CorrectionException(Row, $"no edge joins the vertices {Edge.From} and {Edge.To}");
    }

    /// <summary>Places along a loop for points that follow each other; lengths are measured along both.</summary>
    /// <param name="loop">The loop's corners; a closed one repeats the first at its end.</param>
    /// <param name="closed">True for a closed loop.</param>
    /// <param name="points">Where the joints are.</param>
    /// <param name="rowClosed">True when the row closes itself.</param>
    internal static Vector3d[] Along(Vector3d[] loop, bool closed, Vector3d[] points, bool rowClosed)
    {
        double[] lengths = Lengths(loop), spacing = Lengths(points);
        if (rowClosed || points.Length < 2 || spacing[^1] == 0)
        {
            return [.. points.Select(p => At(loop, lengths, Nearest(loop, lengths, p)))];
        }

        (double first, double last) = (Nearest(loop, lengths, points[0]), Nearest(loop, lengths, points[^1]));

        // On a closed loop two ways lead from end to end: the one that lies nearer to the row.
        double[] ends = closed ? [last, last > first ? last - lengths[^1] : last + lengths[^1]] : [last];
        return ends.Select(end => points.Select((_, k) => At(loop, lengths, Wrapped(first + ((end - first) * spacing[k] / spacing[^1]), lengths[^1]))).ToArray())
            .MinBy(way => way.Zip(points).Sum(pair => Vector3d.Distance(pair.First, pair.Second)))!;

        double Wrapped(double at, double whole) => closed ? at - (Math.Floor(at / whole) * whole) : at;
    }

    private static double[] Lengths(Vector3d[] corners)
    {
        double[] lengths = new double[corners.Length];
        for (int k = 1; k < corners.Length; k++)
        {
            lengths[k] = lengths[k - 1] + Vector3d.Distance(corners[k - 1], corners[k]);
        }

        return lengths;
    }

    private static double Nearest(Vector3d[] loop, double[] lengths, Vector3d point)
    {
        (double best, double at) = (double.PositiveInfinity, 0);
        for (int k = 1; k < loop.Length; k++)
        {
            Vector3d side = loop[k] - loop[k - 1];
            double t = side.LengthSquared > 0 ? Math.Clamp(Vector3d.Dot(point - loop[k - 1], side) / side.LengthSquared, 0, 1) : 0;
            double distance = Vector3d.Distance(point, loop[k - 1] + (side * t));
            (best, at) = distance < best ? (distance, lengths[k - 1] + (t * side.Length)) : (best, at);
        }

        return at;
    }

    private static Vector3d At(Vector3d[] loop, double[] lengths, double at)
    {
        int k = Math.Clamp(Array.FindIndex(lengths, length => length >= at), 1, loop.Length - 1);
        double side = lengths[k] - lengths[k - 1];
        return side > 0 ? Vector3d.Lerp(loop[k - 1], loop[k], (at - lengths[k - 1]) / side) : loop[k];
    }
}
