using AutoPlace.Conditioning;
using AutoPlace.Geometry;
using Xunit;

namespace AutoPlace.Tests.Conditioning;

public sealed class AxisFramesTests
{
    [Fact]
    public void All_facings_are_the_24_rotations_of_the_cube()
    {
        Assert.Equal(24, AxisFrames.All.Distinct().Count());
        Assert.All(AxisFrames.All, f => Assert.Equal(1, Matrix3d.FromColumns(f.Left, f.Up, f.Front).Determinant));
    }

    [Fact]
    public void First_facing_is_that_of_gltf() // glTF 2.0, "Coordinate System and Units": +Y up, front +Z, left +X.
    {
        Assert.Equal(new Facing(Vector3d.UnitX, Vector3d.UnitY, Vector3d.UnitZ), AxisFrames.All[0]);
    }

    [Fact]
    public void Matching_keeps_what_the_user_said()
    {
        IReadOnlyList<Facing> zUp = AxisFrames.Matching(Vector3d.UnitZ, null);
        Assert.Equal(4, zUp.Count);
        Assert.All(zUp, f => Assert.Equal(Vector3d.UnitZ, f.Up));
        Assert.Equal(-Vector3d.UnitX, Assert.Single(AxisFrames.Matching(Vector3d.UnitZ, -Vector3d.UnitY)).Left * -1);
        Assert.Throws<ArgumentException>(() => AxisFrames.Matching(Vector3d.UnitZ, -Vector3d.UnitZ));
    }
}
