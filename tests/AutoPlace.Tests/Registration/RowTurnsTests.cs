using AutoPlace.Geometry;
using AutoPlace.Registration;
using AutoPlace.Template;
using Xunit;

namespace AutoPlace.Tests.Registration;

/// <summary>Rows of five joints on a flat sheet; on the template they are straight and evenly spaced.</summary>
public sealed class RowTurnsTests
{
    private const double Lift = 0.01;

    private static readonly SkinSurface Sheet = SkinSurface.Of(
        new TriangleMesh([new(-9, -9, 0), new(9, -9, 0), new(9, 9, 0), new(-9, 9, 0)], [0, 1, 2, 0, 2, 3]), [0, 1], []);

    /// <summary>The turn between two spans, as the angle between their directions.</summary>
    [Theory]
    [InlineData(0, 0)]
    [InlineData(1, 45)]
    [InlineData(-1, 45)]
    public void Turn_is_the_angle_between_spans(double aside, double degrees)
    {
        Dictionary<string, JointPlacement> row = Row([new(0, 0, 0), new(1, 0, 0), new(2, 0, 0), new(3, 0, 0), new(4, aside, 0)]);

        Assert.Equal(degrees, RowTurns.At(row["2"], row["3"], row["4"], 0)!.Value, 1e-9);
        Assert.Equal(degrees - 72, RowTurns.At(row["2"], row["3"], row["4"], 72)!.Value, 1e-9);
    }

    /// <summary>A joint that lies behind the one before it is drawn on between its neighbours, on the skin with its lift, and no other joint moves.</summary>
    [Fact]
    public void Joint_where_a_row_doubles_back_is_drawn_between_its_neighbours()
    {
        Dictionary<string, JointPlacement> row = Row([new(0, 0, 0), new(1, 0, 0), new(0.9, 0.2, 0), new(3, 0, 0), new(4, 0, 0)]);
        Dictionary<string, JointPlacement> before = new(row);

        RowTurns.Limit(Lattice(row), row, new HashSet<string>(), Sheet, _ => Vector3d.UnitZ);

        Assert.True(Turns(before).Max() > 90);
        Assert.True(Turns(row).Max() < 90);
        Assert.All(row, joint => Assert.Equal(Lift, joint.Value.Position.Z, 1e-6));
        Assert.InRange(row["2"].Position.X, 1, 2.5);
        Assert.All((string[])["0", "3", "4"], name => Assert.Equal(before[name], row[name]));
    }

    /// <summary>What turns less than that stays to the last bit, and so does what is held.</summary>
    [Fact]
    public void Gentle_turns_and_held_joints_stay()
    {
        Dictionary<string, JointPlacement> gentle = Row([new(0, 0, 0), new(1, 0, 0), new(2, 0.8, 0), new(3, 0, 0), new(4, 0, 0)]);
        Dictionary<string, JointPlacement> held = Row([new(0, 0, 0), new(1, 0, 0), new(0.9, 0.2, 0), new(3, 0, 0), new(4, 0, 0)]);
        (Dictionary<string, JointPlacement> gentleBefore, Dictionary<string, JointPlacement> heldBefore) = (new(gentle), new(held));

        RowTurns.Limit(Lattice(gentle), gentle, new HashSet<string>(), Sheet, _ => Vector3d.UnitZ);
        RowTurns.Limit(Lattice(held), held, new HashSet<string>(["1", "2", "3"]), Sheet, _ => Vector3d.UnitZ);

        Assert.Equal(gentleBefore, gentle);
        Assert.Equal(heldBefore, held);
    }

    /// <summary>Rows that turn at every joint, at random: each ends with no sharper turn than before, whatever the order in which joints are drawn.</summary>
    [Fact]
    public void Tangled_rows_get_no_worse()
    {
        var random = new Random(7);
        for (int run = 0; run < 200; run++)
        {
            Dictionary<string, JointPlacement> row = Row([.. Enumerable.Range(0, 5).Select(_ => new Vector3d(2 * random.NextDouble(), 2 * random.NextDouble(), 0))]);
            Dictionary<string, JointPlacement> before = new(row);

            RowTurns.Limit(Lattice(row), row, new HashSet<string>(), Sheet, _ => Vector3d.UnitZ);

            Assert.True(Turns(row).Max() <= Turns(before).Max() + 1e-6);
            Assert.All(row, joint => Assert.Equal(Lift, joint.Value.Position.Z, 1e-6));
        }
    }

    private static IEnumerable<double> Turns(Dictionary<string, JointPlacement> row) =>
        Enumerable.Range(1, 3).Select(i => RowTurns.At(row[$"{i - 1}"], row[$"{i}"], row[$"{i + 1}"], 0) ?? 0);

    private static JointLattice Lattice(Dictionary<string, JointPlacement> row) =>
        new([.. row.Values.Select(joint => joint.Joint)], [new JointSequence("row", [.. row.Keys], false)], []);

    private static Dictionary<string, JointPlacement> Row(Vector3d[] points) => points.Select((p, i) => new JointPlacement
    {
        Joint = new ControlJoint
        {
            Name = $"{i}",
            Kind = JointKind.Surface,
            Ride = Ride.Skin,
            Position = new(i, 0, Lift),
            SkinPoint = new(i, 0, 0),
            Lift = Lift,
        },
        Position = p + (Vector3d.UnitZ * Lift),
        Rotation = Rotation3d.Identity,
        State = JointState.Modelled,
        LocalSize = 1,
        Lift = Lift,
        Radius90 = 0.1,
    }).ToDictionary(joint => joint.Joint.Name, StringComparer.Ordinal);
}
