using System.Numerics;
using AutoPlace.Geometry;
using AutoPlace.Registration;
using AutoPlace.Template;
using Xunit;

namespace AutoPlace.Tests.Registration;

public sealed class SkinTurnsTests
{
    private static readonly PreparedTemplate Template = new(BuiltInTemplate.Load());

    [Fact]
    public void Turned_head_turns_the_skin_everywhere()
    {
        Matrix3d rotation = new Rotation3d(0.2, -0.3, 0.1, 0.9).Normalized().ToMatrix();

        SkinTurns turns = Of(p => rotation * p);

        foreach (string landmark in (string[])["pronasale", "cheilion_left", "tragion_right"])
        {
            Assert.Equal(0, Rotation3d.AngleDegrees(Rotation3d.FromMatrix(turns.At(Template.Head.Landmarks[landmark])), Rotation3d.FromMatrix(rotation)), 0.01);
        }
    }

    /// <summary>Sheared in depth by x, a patch that faces the front turns about the up axis; on the midline of a symmetric change nothing turns sideways.</summary>
    [Fact]
    public void Patch_turns_with_its_own_slope_and_the_midline_stays()
    {
        SkinTurns turns = Of(p => p + new Vector3d(0, 0, -0.3 * Math.Abs(p.X)));

        Vector3d cheek = turns.At(Template.Head.Landmarks["cheilion_left"] + new Vector3d(0.2, 0, 0)) * Vector3d.UnitX, middle = turns.At(Template.Head.Landmarks["glabella"]) * Vector3d.UnitX;

        Assert.InRange(double.RadiansToDegrees(Math.Atan2(-cheek.Z, cheek.X)), 8, 20);
        // On the skin itself, whose quads are cut along diagonals that aren't each other's mirror images: 2 thousandths of a degree.
        Assert.Equal(0, middle.Y, 4e-5);
        Assert.Equal(0, middle.Z, 4e-5);
    }

    /// <summary>A map that has the skin some hundredths before and behind where it is, in waves, tilts its patches by some ten degrees; the skin isn't tilted.</summary>
    [Fact]
    public void Turn_is_that_of_the_skin_where_the_map_misses_its_depth()
    {
        SkinTurns turns = Of(p => p, p => p + new Vector3d(0, 0, 0.03 * Math.Sin(6 * p.Y)));

        foreach (string landmark in (string[])["pogonion", "glabella", "subnasale"])
        {
            Assert.InRange(Rotation3d.AngleDegrees(Rotation3d.FromMatrix(turns.At(Template.Head.Landmarks[landmark])), Rotation3d.Identity), 0, 2.5);
        }
    }

    private static SkinTurns Of(Func<Vector3d, Vector3d> change, Func<Vector3d, Vector3d>? mapped = null)
    {
        ControlPoint[] points = [.. Template.ControlPoints.ToArray().Select(p => new ControlPoint(p, (mapped ?? change)(p), 1e-6))];
        ControlPoint[] mirrored = [.. points.Where(p => p.Atlas.X != 0).Select(p => p.Atlas with { X = -p.Atlas.X }).Select(p => new ControlPoint(p, (mapped ?? change)(p), 1e-6))];
        TriangleMesh skin = Template.Skin.WithPositions([.. Template.Skin.Positions.ToArray().Select(p => (Vector3)change(p))]);
        return new SkinTurns(
            Template, points, HeadWarp.Fit(Template.Head, [.. points, .. mirrored], []), SkinSurface.Of(skin, [.. Enumerable.Range(0, skin.TriangleCount)], []));
    }
}
