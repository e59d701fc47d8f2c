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
        Assert.Equal(0, middle.Y, 1e-6);
        Assert.Equal(0, middle.Z, 1e-6);
    }

    private static SkinTurns Of(Func<Vector3d, Vector3d> change)
    {
        ControlPoint[] points = [.. Template.ControlPoints.ToArray().SelectMany(p => (Vector3d[])[p, p with { X = -p.X }]).Distinct().Select(p => new ControlPoint(p, change(p), 1e-6))];
        return new SkinTurns(points, HeadWarp.Fit(Template.Head, points, []));
    }
}
