using AutoPlace.Geometry;
using AutoPlace.Template;
using Xunit;

namespace AutoPlace.Tests.Template;

/// <summary>Sides and twins of a rig's joints by where they are; x = 0 is the rig's plane.</summary>
public sealed class RigSidesTests
{
    /// <summary>0.04 mm off on a head of 63 mm, say where a joint was snapped to a vertex; what a template may move a joint by on its own head isn't reached.</summary>
    [Theory]
    [InlineData(0.04 / 63, true)]
    [InlineData(-0.04 / 63, true)]
    [InlineData(0.0009, true)]
    [InlineData(0.001, false)]
    [InlineData(-0.002, false)]
    public void Joint_a_hair_beside_the_plane_is_of_the_midline_and_put_onto_it(double off, bool isMiddle)
    {
        Vector3d[] positions = [new(off, -1, 1), new(0.4, 0.3, 1), new(-0.4, 0.3, 1)];

        RigSides sides = RigSides.Infer(["chin", "L_brow", "R_brow"], positions);
        Vector3d[] exact = sides.Exact(positions, rounding: 1e-5);

        Assert.Equal([isMiddle ? Side.Middle : off > 0 ? Side.Left : Side.Right, Side.Left, Side.Right], sides.Sides);
        Assert.Equal([isMiddle ? 0 : -1, 2, 1], sides.Twins);
        Assert.Equal([new Vector3d(isMiddle ? 0 : off, -1, 1), positions[1], positions[2]], exact);
    }

    /// <summary>Joints on either side of the midline, nearer to it than what is seen of a lip's middle, stay a pair.</summary>
    [Fact]
    public void Pair_close_to_the_plane_stays_a_pair()
    {
        RigSides sides = RigSides.Infer(["lip.l", "lip.r"], [new(0.0015, -1, 1), new(-0.0015, -1, 1)]);

        Assert.Equal([Side.Left, Side.Right], sides.Sides);
        Assert.Equal([1, 0], sides.Twins);
    }
}
