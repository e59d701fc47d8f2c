using System.Numerics;
using AutoPlace.Geometry;
using Xunit;

namespace AutoPlace.Tests.Geometry;

/// <summary>Flat sheets of squares in z = 0.</summary>
public sealed class EdgeFlowTests
{
    private const double Degree = Math.PI / 180;

    /// <summary>A direction has to turn by the angle to the nearer edge of the grid, whichever way the grid lies and the direction points.</summary>
    [Theory]
    [InlineData(0, 0, 0)]
    [InlineData(20, 0, 20)]
    [InlineData(-20, 0, -20)]
    [InlineData(80, 0, -10)]
    [InlineData(10, 100, 0)]
    [InlineData(10, 185, 5)]
    public void Turn_is_the_angle_to_the_nearer_direction_of_the_grid(double grid, double direction, double expected)
    {
        EdgeFlow flow = Of(Sheet.Quads(0.02, grid * Degree));

        (double turn, double agreement) = flow.At(new(0.003, -0.007, 0), Vector3d.UnitZ, Sheet.Along(direction * Degree) * 3);

        Assert.Equal(expected * Degree, turn, 1e-4);
        Assert.Equal(1, agreement, 1e-4);
    }

    /// <summary>About the opposite normal the same turn has the opposite sign; what lies along the normal counts for nothing.</summary>
    [Fact]
    public void Turn_is_about_the_normal()
    {
        EdgeFlow flow = Of(Sheet.Quads(0.02, 20 * Degree, flipped: true));

        Assert.Equal(-20 * Degree, flow.At(default, -Vector3d.UnitZ, new(1, 0, 5)).Turn, 1e-4);
        Assert.Equal(0, flow.At(default, Vector3d.UnitZ, Vector3d.UnitX).Agreement);
    }

    /// <summary>Triangles run nowhere; among as many quads of the same size they halve the agreement.</summary>
    [Fact]
    public void Triangles_have_no_flow()
    {
        PolygonMesh quads = Sheet.Quads(0.02, 0), triangles = Sheet.Triangles(quads, _ => true), mixed = Sheet.Triangles(quads, f => f % 3 == 0);

        Assert.Equal(0, Of(triangles).At(default, Vector3d.UnitZ, Vector3d.UnitX).Agreement);
        Assert.InRange(Of(mixed).At(default, Vector3d.UnitZ, Vector3d.UnitX).Agreement, 0.4, 0.6);
    }

    [Fact]
    public void There_is_no_flow_along_the_normal_or_where_there_is_no_skin()
    {
        Assert.Equal((0, 0), Of(Sheet.Quads(0.02, 0)).At(default, Vector3d.UnitZ, Vector3d.UnitZ));
        Assert.Equal((0, 0), Of(Sheet.Quads(0.02, 0)).At(new(0, 0, 0.5), Vector3d.UnitZ, Vector3d.UnitX));
        Assert.Equal((0, 0), new EdgeFlow(Sheet.Quads(0.02, 0), Sheet.Quads(0.02, 0).Positions, []).At(default, Vector3d.UnitZ, Vector3d.UnitX));
    }

    private static EdgeFlow Of(PolygonMesh mesh) => new(mesh, mesh.Positions, Enumerable.Range(0, mesh.VertexCount).ToArray());
}

/// <summary>Flat sheets in z = 0, facing z.</summary>
internal static class Sheet
{
    private const int Half = 25;

    /// <summary>Squares of a size; their edges lie along <paramref name="angle"/> and across it.</summary>
    public static PolygonMesh Quads(double size, double angle, bool flipped = false)
    {
        const int Side = (2 * Half) + 1;
        Vector3[] positions = [.. Enumerable.Range(0, Side * Side).Select(i =>
            (Vector3)((Along(angle) * (size * ((i % Side) - Half))) + (Along(angle + (Math.PI / 2)) * (size * ((i / Side) - Half)))))];
        int[][] faces = [.. Enumerable.Range(0, Side * (Side - 1)).Where(i => i % Side < Side - 1).Select(i => new[] { i, i + 1, i + 1 + Side, i + Side })
            .Select(face => flipped ? [.. face.Reverse()] : face)];
        return Of(positions, faces);
    }

    /// <summary>The same with some squares cut in two.</summary>
    public static PolygonMesh Triangles(PolygonMesh quads, Func<int, bool> cut) => Of(
        quads.Positions.ToArray(),
        [.. Enumerable.Range(0, quads.FaceCount).SelectMany(f => quads.Face(f).ToArray() is var q && cut(f) ? new[] { [q[0], q[1], q[2]], new[] { q[0], q[2], q[3] } } : [q])]);

    public static Vector3d Along(double angle) => new(Math.Cos(angle), Math.Sin(angle), 0);

    private static PolygonMesh Of(Vector3[] positions, int[][] faces)
    {
        int[] starts = new int[faces.Length + 1];
        for (int f = 0; f < faces.Length; f++)
        {
            starts[f + 1] = starts[f] + faces[f].Length;
        }

        return new PolygonMesh(positions, starts, [.. faces.SelectMany(face => face)]);
    }
}
