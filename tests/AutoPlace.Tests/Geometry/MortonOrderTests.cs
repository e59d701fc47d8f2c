using System.Numerics;
using AutoPlace.Geometry;
using Xunit;

namespace AutoPlace.Tests.Geometry;

public sealed class MortonOrderTests
{
    [Fact]
    public void Cells_of_a_cube_follow_the_curve()
    {
        // The eight corners of a cube, x fastest: the curve's first octants (Morton 1966).
        Vector3[] corners = [.. Enumerable.Range(0, 8).Select(i => new Vector3(i & 1, i >> 1 & 1, i >> 2))];
        int[] shuffled = [5, 2, 7, 0, 3, 6, 1, 4];
        (int[] order, _) = MortonOrder.Sort([.. shuffled.Select(i => corners[i])], Vector3.Zero, Vector3.One);
        Assert.Equal(Enumerable.Range(0, 8), order.Select(i => shuffled[i]));
    }

    [Fact]
    public void Order_is_a_permutation_along_rising_codes()
    {
        var random = new Random(3);
        Vector3[] points = [.. Enumerable.Range(0, 5000).Select(_ => new Vector3(random.NextSingle(), random.NextSingle(), 1e6f * random.NextSingle()))];
        (int[] order, ulong[] codes) = MortonOrder.Sort(points, Vector3.Zero, new Vector3(1, 1, 1e6f));
        Assert.Equal(Enumerable.Range(0, points.Length), order.Order());
        Assert.Equal(codes.Order(), codes);

        // Points in order are near each other: the way along them is far shorter than in the order that they came in.
        static double Way(IEnumerable<Vector3> points) =>
            points.Zip(points.Skip(1), (a, b) => Vector3.Distance(a with { Z = a.Z / 1e6f }, b with { Z = b.Z / 1e6f })).Sum();
        Assert.True(Way(order.Select(i => points[i])) < 0.25 * Way(points));
    }

    [Fact]
    public void Coincident_points_keep_their_order()
    {
        Vector3[] points = [.. Enumerable.Repeat(new Vector3(7), 100)];
        (int[] order, ulong[] codes) = MortonOrder.Sort(points, new Vector3(7), new Vector3(7));
        Assert.Equal(Enumerable.Range(0, 100), order);
        Assert.All(codes, code => Assert.Equal(0UL, code));
    }

    [Fact]
    public void No_points_are_no_fault()
    {
        (int[] order, ulong[] codes) = MortonOrder.Sort([], new Vector3(float.PositiveInfinity), new Vector3(float.NegativeInfinity));
        Assert.Empty(order);
        Assert.Empty(codes);
    }
}
