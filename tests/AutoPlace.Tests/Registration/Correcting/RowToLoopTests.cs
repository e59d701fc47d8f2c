using AutoPlace.Geometry;
using AutoPlace.Registration.Correcting;
using Xunit;

namespace AutoPlace.Tests.Registration.Correcting;

public sealed class RowToLoopTests
{
    private static readonly CorrectableHead Head = TemplateOwnHead.Head;

    /// <summary>A row above a circle takes the upper arc, from nearest point to nearest point, at equal spacing.</summary>
    [Fact]
    public void Row_takes_the_nearer_arc_of_a_closed_loop_and_keeps_its_spacing()
    {
        var circle = new PolygonalChain([.. Enumerable.Range(0, 360).Select(k => At(k))], closed: true);
        Vector3d[] row = [.. Enumerable.Range(0, 5).Select(k => At(30 + (30 * k)) * 1.2)];

        Vector3d[] along = RowToLoop.Along(circle, row, rowClosed: false);

        for (int k = 0; k < 5; k++)
        {
            Assert.True(Vector3d.Distance(At(30 + (30 * k)), along[k]) < 1e-3);
        }

        // The seam of the loop lies within the row.
        Vector3d[] across = RowToLoop.Along(circle, [.. Enumerable.Range(0, 5).Select(k => At(-60 + (30 * k)) * 1.2)], rowClosed: false);
        Assert.True(Vector3d.Distance(At(0), across[2]) < 1e-3);

        static Vector3d At(int degrees) => new(Math.Cos(degrees * Math.PI / 180), Math.Sin(degrees * Math.PI / 180), 0);
    }

    /// <summary>The upper lip's border goes onto the loop through a vertex beside it; a locked joint of the row stays.</summary>
    [Fact]
    public void Row_lies_on_the_clicked_loop_at_its_lift_but_for_what_is_locked()
    {
        MeshAdjacency adjacency = Head.Adjacency!;
        Vector3d middle = Head.AutomaticJoint("labiale_superius")!.Position + new Vector3d(0, 0.04, 0);
        int edge = Enumerable.Range(0, adjacency.EdgeCount).Where(e => Math.Abs(Direction(e).X) > 0.9).MinBy(e => Vector3d.Distance(Middle(e), middle));
        Revision locked = Revision.First(Head).After(new LockJoint("lip_upper_border_2_left"));

        Revision laid = locked.After(new RowToLoop("lip_upper_border", (adjacency.Edges[edge].Low, adjacency.Edges[edge].High)));

        VertexPath path = EdgeLoops.Through(adjacency, edge);
        Assert.Equal(locked.Joint("lip_upper_border_2_left"), laid.Joint("lip_upper_border_2_left"));
        foreach (string name in Head.Automatic.Rows.Single(r => r.Name == "lip_upper_border").Joints.Where(n => n != "lip_upper_border_2_left"))
        {
            Assert.True(laid.Joint(name).PositionLocked);
            double distance = Enumerable.Range(0, path.EdgeCount).Min(k => Distance(
                laid.Joint(name).Position, Position(path.Vertices[k]), Position(path.Vertices[(k + 1) % path.Vertices.Count])));
            Assert.InRange(distance, 0, Math.Abs(laid.Joint(name).Lift) + 0.01);
        }

        Vector3d Position(int v) => Head.HeadMesh.Positions[v];
        Vector3d Direction(int e) => (Position(adjacency.Edges[e].High) - Position(adjacency.Edges[e].Low)).Normalized();
        Vector3d Middle(int e) => (Position(adjacency.Edges[e].High) + Position(adjacency.Edges[e].Low)) * 0.5;
    }

    [Fact]
    public void Rows_and_edges_that_are_not_there_are_refused_by_name()
    {
        Revision first = Revision.First(Head);

        Assert.Equal("no_such", Assert.Throws<CorrectionException>(() => first.After(new RowToLoop("no_such", (0, 1)))).Subject);
        // A loop that ends on both sides after some edges, as a long one does at a pole.
        MeshAdjacency adjacency = Head.Adjacency!;
        MeshEdge brief = adjacency.Edges[Enumerable.Range(0, adjacency.EdgeCount).First(e => EdgeLoops.Through(adjacency, e) is { IsClosed: false, EdgeCount: < 4 })];
        Assert.Contains("less than 0.5", Assert.Throws<CorrectionException>(
            () => first.After(new RowToLoop("brow", (brief.Low, brief.High)))).Reason, StringComparison.Ordinal);
        Assert.Contains("no edge joins", Assert.Throws<CorrectionException>(() => first.After(new RowToLoop("brow", (0, 0)))).Message, StringComparison.Ordinal);
    }

    private static double Distance(Vector3d p, Vector3d a, Vector3d b)
    {
        double t = Math.Clamp(Vector3d.Dot(p - a, b - a) / (b - a).LengthSquared, 0, 1);
        return Vector3d.Distance(p, Vector3d.Lerp(a, b, t));
    }
}
