using System.Numerics;
using AutoPlace.Geometry;
using AutoPlace.Landmarks;
using Xunit;

namespace AutoPlace.Tests.Landmarks;

public sealed class LandmarkSnapTests
{
    // A square of skin in the plane z = 0.
    private static readonly BoundingVolumeHierarchy Skin = new(new TriangleMesh(
        [new(-1, -1, 0), new(1, -1, 0), new(1, 1, 0), new(-1, 1, 0)], [0, 1, 2, 0, 2, 3]));

    [Fact]
    public void A_landmark_that_may_lie_on_the_skin_is_put_there() =>
        Assert.Equal(new Vector3(0.2f, 0.3f, 0), (Vector3)Snapped("pronasale", 0.05, 0.03).Position);

    [Fact]
    public void One_that_surely_lies_off_it_stays() => Assert.Equal(0.05, Snapped("stomion", 0.05, 0.01).Position.Z);

    [Fact]
    public void One_that_lies_far_off_stays() => Assert.Equal(0.5, Snapped("menton", 0.5, 1).Position.Z);

    [Fact]
    public void An_eye_centre_stays_inside() => Assert.Equal(-0.05, Snapped("eye_centre_left", -0.05, 0.1).Position.Z);

    private static Landmark Snapped(string name, double height, double deviation) => LandmarkSnap.ToSkin(
        [new Landmark(name, new Vector3d(0.2f, 0.3f, height), Matrix3d.Identity * (deviation * deviation), 1, LandmarkSource.Network)], Skin)[0];
}
