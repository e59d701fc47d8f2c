using AutoPlace.Geometry;
using AutoPlace.Landmarks;
using Xunit;

namespace AutoPlace.Tests.Landmarks;

/// <summary>Constructed eyes: every centre and radius is known in closed form.</summary>
public sealed class EyeballFinderTests
{
    private static readonly Vector3d Eye = new(0.5, 0, 0);
    private static readonly Vector3d Lids = new(0.5, -0.04, 0.15);

    [Fact]
    public void Ball_behind_the_lids_is_the_eye()
    {
        Eyeball found = EyeballFinder.Find(Seen(Eye), Lids, [Ellipsoid(new(0.51, 0.01, -0.03), new(0.24, 0.24, 0.24), 0)]);

        Assert.True(found.IsModelled);
        Assert.Equal(0, Vector3d.Distance(found.Centre, new(0.51, 0.01, -0.03)), 1e-6);
        Assert.Equal(0.24, found.Radius, 1e-6);
    }

    /// <summary>A cheek or a lock of hair may be as round as an eye; it isn't where the network sees one.</summary>
    [Theory]
    [InlineData(-0.25, 0.0, 0.45)]
    [InlineData(0.0, 0.35, 0.25)]
    [InlineData(0.0, -0.39, 0.12)]
    public void Ball_beside_far_behind_or_ahead_of_the_lids_is_no_eye(double up, double forward, double radius)
    {
        Eyeball found = EyeballFinder.Find(Seen(Eye), Lids, [Ellipsoid(Eye + new Vector3d(0, up, forward), new(radius, radius, radius), 0)]);

        Assert.False(found.IsModelled);
        Assert.Equal(0, Vector3d.Distance(found.Centre, Eye + new Vector3d(0, 0, 0.066)), 1e-12);
    }

    /// <summary>The ball as broad as the plate that touches its front: behind the front by half the breadth, along the plate's axis.</summary>
    [Theory]
    [InlineData(0.0)]
    [InlineData(0.4)]
    public void Plate_turns_about_the_centre_of_a_ball_of_its_breadth(double turn)
    {
        var front = new Vector3d(Math.Sin(turn), 0, Math.Cos(turn));
        Vector3d middle = new(0.52, 0, 0.2);

        Eyeball found = EyeballFinder.Find(Seen(Eye), Lids, [Ellipsoid(middle, new(0.30, 0.36, 0.05), turn)]);

        Assert.True(found.IsModelled && found.IsPlate);
        Assert.Equal(0.33, found.Radius, 0.005);
        Assert.Equal(0, Vector3d.Distance(found.Centre, middle + (front * (0.05 - 0.33))), 0.005);
    }

    [Fact]
    public void Brow_over_the_eye_is_no_plate()
    {
        Eyeball found = EyeballFinder.Find(Seen(Eye), Lids, [Ellipsoid(new(0.5, 0.1, 0.25), new(0.30, 0.06, 0.03), 0)]);

        Assert.False(found.IsModelled);
    }

    /// <summary>A few vertices on a large sphere hardly say where its centre is: they count where the network has the eye anyhow.</summary>
    [Theory]
    [InlineData(0.05, true)]
    [InlineData(-0.2, false)]
    public void Cap_is_the_eye_only_where_the_network_sees_its_centre(double forward, bool isEye)
    {
        Vector3d centre = Eye + new Vector3d(0, 0, forward);
        Vector3d[] cap = [.. Ellipsoid(centre, new(0.24, 0.24, 0.24), 0).Where(p => p.Z - centre.Z > 0.19)];
        Eyeball found = EyeballFinder.Find(Seen(Eye), null, [cap]);

        Assert.Equal(isEye, found is { IsModelled: true, IsPlate: false });
        Assert.True(!isEye || Vector3d.Distance(found.Centre, centre) < 1e-6);
    }

    private static Landmark Seen(Vector3d at) => new("eye_centre_left", at, Matrix3d.Identity * (0.02 * 0.02), 1, LandmarkSource.Network);

    // Rings about the z axis, turned about y.
    private static Vector3d[] Ellipsoid(Vector3d centre, Vector3d halves, double turn) =>
        [.. from ring in Enumerable.Range(0, 41)
            from segment in Enumerable.Range(0, 60)
            let polar = Math.PI * ring / 40
            let azimuth = 2 * Math.PI * segment / 60
            let p = new Vector3d(halves.X * Math.Sin(polar) * Math.Cos(azimuth), halves.Y * Math.Sin(polar) * Math.Sin(azimuth), halves.Z * Math.Cos(polar))
            select centre + new Vector3d((p.X * Math.Cos(turn)) + (p.Z * Math.Sin(turn)), p.Y, (p.Z * Math.Cos(turn)) - (p.X * Math.Sin(turn)))];
}
