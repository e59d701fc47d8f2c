using System.Numerics;
using AutoPlace.Geometry;
using AutoPlace.Registration;
using AutoPlace.Template;
using Xunit;

namespace AutoPlace.Tests.Registration;

/// <summary>Flat sheets, so that every distance is known.</summary>
public sealed class SkinSurfaceTests
{
    /// <summary>A slit as between the lips: the upper wall faces down, the lower one up. What belongs to the lower lip stays there, also from beyond the middle.</summary>
    [Theory]
    [InlineData(-0.005)]
    [InlineData(0.004)]
    [InlineData(0.012)]
    public void Point_in_a_slit_lands_on_the_wall_that_faces_as_expected(double height)
    {
        const double HalfGap = 0.01;
        SkinSurface skin = Sheets(((float)HalfGap, false), (-(float)HalfGap, true));

        SkinPlace lower = skin.Project(new(0.1, height, 0.1), Vector3d.UnitY, 0.06);
        SkinPlace upper = skin.Project(new(0.1, height, 0.1), -Vector3d.UnitY, 0.06);

        Assert.Equal(0, Vector3d.Distance(lower.Position, new(0.1, -HalfGap, 0.1)), 1e-6);
        Assert.Equal(0, Vector3d.Distance(upper.Position, new(0.1, HalfGap, 0.1)), 1e-6);
        Assert.Equal(1, Vector3d.Dot(lower.Normal, Vector3d.UnitY), 1e-6);
    }

    [Fact]
    public void Point_without_skin_that_faces_as_expected_takes_the_nearest()
    {
        SkinPlace place = Sheets((0, true)).Project(new(0.2, 0.03, 0), -Vector3d.UnitY, 0.06);

        Assert.Equal(0, Vector3d.Distance(place.Position, new(0.2, 0, 0)), 1e-6);
    }

    /// <summary>In sight at height 0, out of sight at -0.4, and something that isn't skin.</summary>
    [Theory]
    [InlineData(-0.3, -0.1, -0.4)] // covered, and the skin out of sight is nearer
    [InlineData(-0.1, 0.2, 0.0)] // covered, but the skin in sight is nearer
    [InlineData(-0.3, 0.5, 0.0)] // nothing near above it
    [InlineData(-0.3, -0.5, 0.0)] // nothing above it
    public void Skin_out_of_sight_counts_under_what_covers_it(double height, float cover, double expected)
    {
        TriangleMesh mesh = Mesh((0, true), (-0.4f, true), (cover, true));
        SkinSurface skin = SkinSurface.Of(mesh, [0, 1], [2, 3]);

        SkinPlace place = skin.Project(new(0.1, height, 0.1), Vector3d.UnitY, 0.35);

        Assert.Equal(expected, place.Position.Y, 1e-6);
        Assert.Equal(expected < 0, place.Skin != skin);
        Assert.Equal(0, Vector3d.Distance(mesh.Position(place.Point), place.Position), 1e-6);
    }

    /// <summary>A sheet from -1 to 1: it ends before what is expected well beyond its edge or corner, not before what is over it or hardly beyond.</summary>
    [Theory]
    [InlineData(1.4, 0, 0.1, true)]
    [InlineData(1.2, 0.1, -1.2, true)]
    [InlineData(1.1, 0, 0.1, false)]
    [InlineData(0.3, 0.3, 0.1, false)]
    public void Skin_ends_before_what_is_beyond_its_edge(double x, double y, double z, bool ends)
    {
        SkinSurface skin = Sheets((0, true));
        Vector3d expected = new(x, y, z);

        Assert.Equal(ends, skin.EndsBefore(expected, skin.Project(expected, Vector3d.UnitY, 0.35)));
    }

    [Fact]
    public void Joint_beyond_the_edge_stays_where_it_is_expected()
    {
        var expected = new SkinTarget(new Vector3d(1.5, 0.1, 0.2), Vector3d.UnitY);
        ControlJoint joint = BuiltInTemplate.Load().Lattice.Joints.Single(j => j.Name == "crown_back");

        JointPlacement placed = SurfaceJoints.Place(joint, expected, Sheets((0, true)), 1.5);

        Assert.Equal(JointState.Inferred, placed.State);
        Assert.Null(placed.SkinPoint);
        Assert.Equal(0, Vector3d.Distance(placed.Position, expected.Position + (Vector3d.UnitY * (1.5 * joint.Lift))), 1e-9);
    }

    private static SkinSurface Sheets(params (float Height, bool FacesUp)[] sheets)
    {
        TriangleMesh mesh = Mesh(sheets);
        return SkinSurface.Of(mesh, [.. Enumerable.Range(0, mesh.TriangleCount)], []);
    }

    private static IEnumerable<int> Corners(bool facesUp) => facesUp ? [0, 1, 2, 0, 2, 3] : [0, 2, 1, 0, 3, 2];

    // Squares of side 2 at some height, two triangles each.
    private static TriangleMesh Mesh(params (float Height, bool FacesUp)[] sheets) => new(
        [.. sheets.SelectMany(sheet => new Vector3[] { new(-1, sheet.Height, -1), new(-1, sheet.Height, 1), new(1, sheet.Height, 1), new(1, sheet.Height, -1) })],
        [.. sheets.SelectMany((sheet, i) => Corners(sheet.FacesUp).Select(corner => corner + (4 * i)))]);
}
