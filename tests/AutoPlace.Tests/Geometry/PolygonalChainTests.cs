using AutoPlace.Geometry;
using Xunit;

namespace AutoPlace.Tests.Geometry;

public sealed class PolygonalChainTests
{
    private static readonly PolygonalChain Square = new([new(0, 0, 0), new(2, 0, 0), new(2, 2, 0), new(0, 2, 0)], closed: true);

    [Fact]
    public void Square_is_eight_long_about_its_middle()
    {
        Assert.Equal(8, Square.Length);
        Assert.Equal(new Vector3d(1, 1, 0), Square.Middle);
    }

    [Theory]
    [InlineData(1, -3, 0, 0.5, 1, 0, 1)]
    [InlineData(5, 1, 1, 0.5, 2, 1, 3)]
    [InlineData(-1, 0.5, 3, 0.75, 0, 0.5, 7.5)]
    [InlineData(3, 3, 1, 1, 2, 2, 4)]
    public void Nearest_place_is_the_foot_of_the_perpendicular_or_a_corner(
        double x, double y, int edge, double fraction, double footX, double footY, double along)
    {
        LinePlace place = Square.Nearest(new Vector3d(x, y, 0));

        Assert.Equal(new LinePlace(edge, fraction, new(footX, footY, 0), along, 2), place);
    }

    [Theory]
    [InlineData(-0.5)]
    [InlineData(0)]
    [InlineData(1.3)]
    [InlineData(7.9)]
    [InlineData(20.25)]
    public void Place_at_a_length_goes_round_and_is_its_own_nearest(double along)
    {
        LinePlace place = Square.At(along);

        Assert.Equal(along - (8 * Math.Floor(along / 8)), place.Along, 1e-12);
        Assert.True(Vector3d.Distance(place.Position, Square.Nearest(place.Position).Position) < 1e-12);
    }

    [Theory]
    [InlineData(-1, 0, 0)]
    [InlineData(3, 2, 1)]
    [InlineData(9, 0, 2)]
    public void Open_line_ends(double along, double x, double y)
    {
        var open = new PolygonalChain([new(0, 0, 0), new(2, 0, 0), new(2, 2, 0), new(0, 2, 0)], closed: false);

        Assert.Equal([0, 2, 4, 6], open.Along);
        Assert.Equal(new Vector3d(x, y, 0), open.At(along).Position);
        Assert.Equal(new Vector3d(0, 2, 0), open.Nearest(new Vector3d(-1, 1.5, 0)).Position);
    }

    [Fact]
    public void What_is_added_to_the_distance_moves_the_choice()
    {
        LinePlace place = Square.Best(new Vector3d(1, -1, 0), (edge, _) => edge == 0 ? 100 : 0);

        Assert.NotEqual(0, place.Edge);
    }
}
