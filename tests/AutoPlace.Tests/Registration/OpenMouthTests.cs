using System.Numerics;
using AutoPlace.Geometry;
using AutoPlace.Landmarks;
using AutoPlace.Registration;
using AutoPlace.Template;
using Xunit;

namespace AutoPlace.Tests.Registration;

/// <summary>Lips that touch on the template and are apart on the head.</summary>
public sealed class OpenMouthTests
{
    private static readonly PreparedTemplate Template = new(BuiltInTemplate.Load());

    private static readonly ControlJoint[] Contact =
        [.. Template.Head.Lattice.Joints.Where(joint => joint.Name.StartsWith("lip_upper_contact", StringComparison.Ordinal) || joint.Name.StartsWith("lip_lower_contact", StringComparison.Ordinal))];

    [Fact]
    public void Joints_and_landmarks_know_their_lip()
    {
        Assert.True(Contact.Length >= 14);
        Assert.All(Contact, joint => Assert.Equal(joint.Name.Contains("upper", StringComparison.Ordinal) ? 1 : -1, Template.LipOf(joint), 0.05));
        Assert.InRange(LipOf("lip_upper"), 0.8, 1);
        Assert.InRange(LipOf("lip_lower"), -1, -0.8);
        Assert.All((string[])["mouth", "commissure_left", "commissure_right"], name => Assert.InRange(LipOf(name), -0.3, 0.3));
        Assert.Equal(0, LipOf("chin_end"), 0.05);
        Assert.Equal(1, Template.LipOfLandmark("lip_contact_upper"), 0.05);
        Assert.Equal(-1, Template.LipOfLandmark("lip_contact_lower_left"), 0.05);
        Assert.Equal(0, Template.LipOfLandmark("cheilion_left"), 0.25);
        Assert.Equal(0, Template.LipOfLandmark("exocanthion_left"));
        Assert.Equal(0, Template.LipOfLandmark("eye_centre_left"));
    }

    private static double LipOf(string joint) => Template.LipOf(Template.Head.Lattice.Joints.Single(j => j.Name == joint));

    /// <summary>
    /// Skin of loose triangles has no way from lip to lip, and a template without landmarks of its lips has none to tell apart:
    /// sides are numbers all the same, and where a lip alone can be reached it is that one.
    /// </summary>
    [Fact]
    public void Skin_that_does_not_hang_together_has_sides_too()
    {
        TriangleMesh skin = Template.Skin;
        var loose = new TriangleMesh([.. skin.Indices.ToArray().Select(v => skin.Positions[v])], [.. Enumerable.Range(0, skin.Indices.Length)]);
        var cut = new TriangleMesh(
            skin.Positions.ToArray(),
            [.. Enumerable.Range(0, skin.TriangleCount).Where(t => skin.Indices.Slice(3 * t, 3).ToArray().All(v => Template.Lips[v] < -0.01) || skin.Indices.Slice(3 * t, 3).ToArray().All(v => Template.Lips[v] > 0.01))
                .SelectMany(t => skin.Indices.Slice(3 * t, 3).ToArray())]);

        var ofLoose = new LipSides(loose, Template.Head.Landmarks);
        var ofCut = new LipSides(cut, Template.Head.Landmarks);
        var ofNone = new LipSides(skin, Template.Head.Landmarks.Where(l => l.Key != "labiale_inferius").ToDictionary());

        Assert.All(Enumerable.Range(0, loose.VertexCount), v => Assert.InRange(ofLoose[v], -1, 1));
        Assert.All(Enumerable.Range(0, skin.VertexCount), v => Assert.Equal(0, ofNone[v]));
        Assert.All(cut.Indices.ToArray().Where(v => Math.Abs(Template.Lips[v]) > 0.9), v => Assert.Equal(Math.Sign(Template.Lips[v]), Math.Sign(ofCut[v])));
    }

    /// <summary>What is seen of one lip says nothing of the other, and what may be either says as much of both.</summary>
    [Theory]
    [InlineData(1, 1, 1)]
    [InlineData(1, -1, 0)]
    [InlineData(-1, 1, 0)]
    [InlineData(0, -1, 1)]
    [InlineData(1, 0, 1)]
    [InlineData(-1, 0.25, 0.75)]
    public void Correspondences_say_nothing_of_the_other_lip(double point, double correspondence, double say) =>
        Assert.Equal(say, LipSides.Say(point, correspondence), 1e-12);

    /// <summary>How surely a mouth is open follows the gap between the landmarks of the lips, and is 0 as soon as one wasn't seen.</summary>
    [Theory]
    [InlineData(0, 0)]
    [InlineData(0.03, 0)]
    [InlineData(0.2, 1)]
    public void Mouth_is_open_as_far_as_its_landmarks_are_apart(double gap, double open)
    {
        Landmark[] landmarks = Landmarks(gap);

        Assert.Equal(open, LipSides.OpenOf(landmarks), 1e-9);
        Assert.Equal(0, LipSides.OpenOf([.. landmarks.Select(l => l.Name == "lip_contact_lower" ? l with { Source = LandmarkSource.Inferred } : l)]));
    }

    /// <summary>
    /// The template's own head, its jaw opened by 18 degrees, from correspondences that are off by up to a hundredth in the atlas,
    /// more than its lips are apart: either lip's contact stays on its own lip. Without telling them apart they meet half-way, 0.1 and more off.
    /// </summary>
    [Theory]
    [InlineData(true)]
    [InlineData(false)]
    public void Lips_are_told_apart_where_the_mouth_is_open(bool told)
    {
        Landmark[] landmarks = [.. Landmarks(0).Select(l => l with { Position = Opened(l.Position, Math.Max(-Template.LipOfLandmark(l.Name), Chin(l.Position))) })];
        Correspondence[] seen = Seen();
        Vector3d[] positions = Positions();
        double[] lips = [.. Template.ControlPoints.ToArray().Select(p => Template.Lips[Array.IndexOf(positions, p)])];
        IReadOnlyList<ControlPoint> controls = told
            ? ControlPointFit.Fit(Template.ControlPoints, Template.ControlNormals, seen, SimilarityTransform.Identity, lips, LipSides.On(seen, landmarks))
            : ControlPointFit.Fit(Template.ControlPoints, Template.ControlNormals, seen, SimilarityTransform.Identity);
        var warp = told
            ? HeadWarp.Fit(Template.Head, controls, landmarks, Template.LipOfLandmark, LipSides.OpenOf(landmarks))
            : HeadWarp.Fit(Template.Head, controls, landmarks);

        double[] errors = [.. Contact.Select(joint => Vector3d.Distance(
            warp.ApplyOnLip(joint.SkinPoint!.Value, Template.LipOf(joint)), Opened(joint.SkinPoint.Value, Math.Max(0, -Template.LipOf(joint)))))];

        Assert.Equal(1, LipSides.OpenOf(landmarks));
        Assert.Equal(told, errors.Max() < 0.05);
        Assert.True(told || errors.Max() > 0.1);
        if (told)
        {
            var back = new HeadToAtlas(Template, controls, warp);
            Assert.All(Contact, joint => Assert.True(Vector3d.Distance(
                back.Apply(warp.ApplyOnLip(joint.SkinPoint!.Value, Template.LipOf(joint))), joint.SkinPoint.Value) < 0.02, joint.Name));
        }
    }

    /// <summary>Joints of both lips that were read apart from each other come to lie as on the template where the mouth is closed, and stay where it is open; all others stay.</summary>
    [Theory]
    [InlineData(0, true)]
    [InlineData(0.2, false)]
    public void Lips_that_touch_at_home_touch_where_the_mouth_is_closed(double gap, bool touch)
    {
        IReadOnlyList<ControlJoint> joints = Template.Head.Lattice.Joints;
        var warp = HeadWarp.Fit(Template.Head, [.. Template.ControlPoints.ToArray().Select(p => new ControlPoint(p, p, 1e-4))], Landmarks(0));
        SkinTarget[] read = [.. joints.Select(joint => new SkinTarget((joint.SkinPoint ?? joint.Position) + (new Vector3d(0, 0.02, 0.01) * Math.Sign(Template.LipOf(joint))), Vector3d.UnitZ))];

        SkinTarget[] expected = [.. read];
        LipContact.Close(Template, joints, warp, Landmarks(gap), expected);

        for (int i = 0; i < joints.Count; i++)
        {
            Vector3d place = touch && Contact.Contains(joints[i]) ? joints[i].SkinPoint!.Value : read[i].Position;
            Assert.True(Vector3d.Distance(place, expected[i].Position) < 1e-3, $"{joints[i].Name} {Vector3d.Distance(place, expected[i].Position)}");
        }
    }

    /// <summary>A head may be the template whose mouth stands wide open: what is of either lip stays of it.</summary>
    [Fact]
    public void Lips_of_an_open_mouthed_template_are_told_apart()
    {
        Vector3d[] positions = Positions();
        Dictionary<string, Vector3d> landmarks = Template.Head.Landmarks.ToDictionary(
            l => l.Key, l => Opened(l.Value, Math.Max(-Template.LipOfLandmark(l.Key), Chin(l.Value))), StringComparer.Ordinal);
        var opened = new LipSides(Template.Skin.WithPositions([.. positions.Select((p, v) => (Vector3)Opened(p, Math.Max(-Template.Lips[v], Chin(p))))]), landmarks);

        int[] contact = [.. Enumerable.Range(0, positions.Length).Where(v => Math.Abs(Template.Lips[v]) > 0.95 && Math.Abs(positions[v].X) < 0.25)]; // not at the corners

        Assert.NotEmpty(contact);
        Assert.All(contact, v => Assert.InRange(opened[v] * Math.Sign(Template.Lips[v]), 0.7, 1));
    }

    private static Vector3d[] Positions() => [.. Template.Skin.Positions.ToArray().Select(p => (Vector3d)p)];

    // What a camera in front would see of the skin; the bag behind the lips looks back.
    private static Correspondence[] Seen()
    {
        Vector3d[] positions = Positions();
        Vector3[] opened = [.. positions.Select((p, v) => (Vector3)Opened(p, Math.Max(-Template.Lips[v], Chin(p))))];
        Vector3d[] normals = [.. VertexNormals.AngleWeighted(Template.Skin.WithPositions(opened)).Select(n => (Vector3d)n)];
        var random = new Random(4);
        double Noise() => ((random.NextDouble() * 2) - 1) * 0.01;
        return [.. Enumerable.Range(0, positions.Length).Where(v => positions[v].Z > 0.2 && normals[v].Z > 0.1)
            .Select(v => new Correspondence((Vector3d)opened[v], normals[v], positions[v] + new Vector3d(Noise(), Noise(), Noise()), 0.01, false))];
    }

    // Turned about the jaw's hinge, by 18 degrees times a share.
    private static Vector3d Opened(Vector3d point, double share)
    {
        var hinge = new Vector3d(0, -0.38, -0.9);
        (double sine, double cosine) = Math.SinCos(share * 18 * Math.PI / 180);
        Vector3d arm = point - hinge;
        return hinge + new Vector3d(arm.X, (cosine * arm.Y) - (sine * arm.Z), (sine * arm.Y) + (cosine * arm.Z));
    }

    // 1 on the chin, 0 above the mouth and on the neck.
    private static double Chin(Vector3d point) => Smooth((-1.2 - point.Y) / 0.35) * Smooth((point.Z + 0.6) / 0.6);

    private static double Smooth(double t) => Math.Clamp(t, 0, 1) is var u ? u * u * (3 - (2 * u)) : 0;

    private static Landmark[] Landmarks(double gap) => [.. Template.Head.Landmarks.Select(l => new Landmark(
        l.Key,
        l.Key.StartsWith("lip_contact_lower", StringComparison.Ordinal) ? Template.Head.Landmarks[l.Key.Replace("lower", "upper", StringComparison.Ordinal)] - (Vector3d.UnitY * gap) : l.Value,
        Matrix3d.Identity * 1e-4, 1, LandmarkSource.Network))];
}
