using AutoPlace.Geometry;
using AutoPlace.Landmarks;
using AutoPlace.Registration;
using AutoPlace.Template;
using AutoPlace.Verification;
using Xunit;

namespace AutoPlace.Tests.Verification;

/// <summary>The template's own face is the neutral one; what is done to it is read off again.</summary>
public sealed class NeutralStateTests
{
    private static readonly PreparedTemplate Template = new(BuiltInTemplate.Load());

    [Fact]
    public void Templates_own_face_is_neutral()
    {
        IReadOnlyDictionary<string, double> state = Of(_ => null);

        Assert.Equal(0, state[NeutralState.JawAngleDegrees], 1e-9);
        Assert.Equal(0, state[NeutralState.LipGapMouthWidths], 1e-9);
        Assert.Equal(1, state[NeutralState.LidApertureLeft], 1e-9);
        Assert.Equal(1, state[NeutralState.LidApertureRight], 1e-9);
    }

    [Fact]
    public void Lower_lip_that_turns_with_the_jaw_opens_it_by_that_angle()
    {
        Vector3d ears = (Template.Head.Landmarks["tragion_left"] + Template.Head.Landmarks["tragion_right"]) * 0.5;

        IReadOnlyDictionary<string, double> state = Of(name => name == "lip_contact_lower" ? Lowered(Template.Head.Landmarks[name], ears, 12) : null);

        Assert.Equal(12, state[NeutralState.JawAngleDegrees], 1e-9);
        Assert.True(state[NeutralState.LipGapMouthWidths] > 0.3);
    }

    [Fact]
    public void Lids_that_meet_are_closed_on_their_own_side()
    {
        IReadOnlyDictionary<string, double> state = Of(name => name.StartsWith("lid_lower", StringComparison.Ordinal) && name.EndsWith("_left", StringComparison.Ordinal)
            ? Template.Head.Landmarks[name.Replace("lower", "upper", StringComparison.Ordinal)]
            : null);

        Assert.Equal(0, state[NeutralState.LidApertureLeft], 1e-9);
        Assert.Equal(1, state[NeutralState.LidApertureRight], 1e-9);
    }

    [Fact]
    public void What_is_inferred_is_left_out()
    {
        Landmark[] landmarks = [.. Landmarks(_ => null).Select(l => l.Name.StartsWith("lip_contact", StringComparison.Ordinal) ? l with { Source = LandmarkSource.Inferred } : l)];

        IReadOnlyDictionary<string, double> state = NeutralState.Of(landmarks, default, null, Template);

        Assert.Equal([NeutralState.LidApertureLeft, NeutralState.LidApertureRight], state.Keys.Order(StringComparer.Ordinal));
    }

    private static Vector3d Lowered(Vector3d point, Vector3d centre, double degrees)
    {
        Vector3d arm = point - centre;
        (double sin, double cos) = Math.SinCos(double.DegreesToRadians(degrees));

        // Down and to the back: about the axis to the left, from the front towards below.
        return centre + new Vector3d(arm.X, (arm.Y * cos) - (arm.Z * sin), (arm.Y * sin) + (arm.Z * cos));
    }

    private static IReadOnlyDictionary<string, double> Of(Func<string, Vector3d?> moved) => NeutralState.Of([.. Landmarks(moved)], default, null, Template);

    private static IEnumerable<Landmark> Landmarks(Func<string, Vector3d?> moved) => Template.Head.Landmarks.Select(l =>
        new Landmark(l.Key, moved(l.Key) ?? l.Value, Matrix3d.Identity, 1, LandmarkSource.Network));
}
