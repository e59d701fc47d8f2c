using AutoPlace.Geometry;
using AutoPlace.Registration;
using AutoPlace.Template;
using AutoPlace.Tests.Geometry;
using Xunit;

namespace AutoPlace.Tests.Registration;

/// <summary>A row of seven joints along x on a flat sheet of squares; on the template it follows the edges.</summary>
public sealed class RowFairingTests
{
    private const double Lift = 0.01, Step = 0.05, Degree = Math.PI / 180;

    private static readonly PolygonMesh Straight = Sheet.Quads(0.03, 0);

    /// <summary>Rows turn towards the edges, no farther, all by the same way, and the more the less sure their joints are.</summary>
    [Theory]
    [InlineData(12)]
    [InlineData(-12)]
    public void Row_turns_towards_the_flow(double degrees)
    {
        double last = 0;
        foreach (double radius in (double[])[0.03, 0.06, 0.12])
        {
            Dictionary<string, JointPlacement> row = Faired(Sheet.Quads(0.03, degrees * Degree), radius);
            double[] turns = [.. Turns(row).Select(turn => turn * Math.Sign(degrees) / Degree)];

            Assert.All(turns, turn => Assert.InRange(turn, last, 12));
            Assert.All(row.Values, joint => Assert.Equal(Lift, joint.Position.Z, 1e-6));

            // About its middle: the row as a whole stays where it was found.
            Assert.Equal(0, row.Values.Average(joint => joint.Position.Y), 1e-3);
            last = turns.Min();
        }

        Assert.True(last > 6, $"{last} of 12 degrees");
    }

    /// <summary>What already follows the flow stays where it is.</summary>
    [Fact]
    public void Row_that_follows_the_flow_stays() => Unmoved(Faired(Straight, 0.1), 1e-6);

    /// <summary>A row at an angle to the flow of its own head keeps that angle.</summary>
    [Fact]
    public void Row_keeps_the_angle_that_it_has_on_the_template()
    {
        PolygonMesh askew = Sheet.Quads(0.03, 10 * Degree);

        Unmoved(Faired(askew, 0.1, template: askew), 1e-6);
    }

    /// <summary>No flow, one too far off, or one that the row doesn't follow on its own head: to the last bit as before.</summary>
    [Fact]
    public void Rows_stay_where_there_is_nothing_to_follow()
    {
        PolygonMesh turned = Sheet.Quads(0.03, 12 * Degree);

        Unmoved(Faired(Sheet.Triangles(turned, _ => true), 0.1), 0);
        Unmoved(Faired(turned, 0.1, template: Sheet.Triangles(Straight, _ => true)), 0);
        Unmoved(Faired(turned, 0.1, template: Sheet.Quads(0.03, 30 * Degree)), 0);
        Unmoved(Faired(Sheet.Quads(0.03, 40 * Degree), 0.1), 1e-6);
    }

    /// <summary>Held joints stay, and their neighbours turn about them.</summary>
    [Fact]
    public void Held_joints_stay()
    {
        Dictionary<string, JointPlacement> row = Faired(Sheet.Quads(0.03, 12 * Degree), 0.1, held: ["0"]);

        Assert.Equal(Placed(0, 0.1), row["0"]);
        Assert.All(Turns(row), turn => Assert.InRange(turn, 0, 12 * Degree));
        Assert.True(row["6"].Position.Y > 2 * Step * Math.Sin(6 * Degree));
    }

    private static void Unmoved(Dictionary<string, JointPlacement> row, double tolerance) =>
        Assert.All(row.Values, (joint, i) => Assert.True(Vector3d.Distance(joint.Position, Placed(i, 0).Position) <= tolerance, joint.Joint.Name));

    private static Dictionary<string, JointPlacement> Faired(PolygonMesh head, double radius, PolygonMesh? template = null, string[]? held = null)
    {
        TriangleMesh mesh = head.Triangulate(out _);
        SkinSurface skin = SkinSurface.Of(mesh, [.. Enumerable.Range(0, mesh.TriangleCount)], []);
        JointPlacement[] joints = [.. Enumerable.Range(0, 7).Select(i => Placed(i, radius))];
        var placed = joints.ToDictionary(joint => joint.Joint.Name, StringComparer.Ordinal);
        var lattice = new JointLattice([.. joints.Select(joint => joint.Joint)], [new JointSequence("row", [.. placed.Keys], false)], []);

        RowFairing.Apply(
            lattice, placed, new HashSet<string>(held ?? []),
            (Flow(template ?? Straight), _ => Vector3d.UnitZ),
            (Flow(head), skin, name => new SkinTarget(placed[name].Position with { Z = 0 }, Vector3d.UnitZ)));
        return placed;
    }

    private static IEnumerable<double> Turns(Dictionary<string, JointPlacement> row) => Enumerable.Range(0, 6)
        .Select(i => row[$"{i + 1}"].Position - row[$"{i}"].Position).Select(span => Math.Atan2(span.Y, span.X));

    private static EdgeFlow Flow(PolygonMesh mesh) => new(mesh, mesh.Positions, Enumerable.Range(0, mesh.VertexCount).ToArray());

    private static JointPlacement Placed(int i, double radius)
    {
        Vector3d point = new((i - 3) * Step, 0, 0);
        return new JointPlacement
        {
            Joint = new ControlJoint
            {
                Name = $"{i}",
                Kind = JointKind.Surface,
                Ride = Ride.Skin,
                Position = point + (Vector3d.UnitZ * Lift),
                SkinPoint = point,
                Lift = Lift,
            },
            Position = point + (Vector3d.UnitZ * Lift),
            Rotation = Rotation3d.Identity,
            State = JointState.Modelled,
            LocalSize = 1,
            Lift = Lift,
            Radius90 = radius,
        };
    }
}
