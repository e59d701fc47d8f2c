using System.Numerics;
using AutoPlace.Geometry;
using AutoPlace.Landmarks;
using AutoPlace.Registration;
using AutoPlace.Template;
using Xunit;

namespace AutoPlace.Tests.Registration;

public sealed class MouthPartsTests
{
    private static readonly TemplateHead Template = BuiltInTemplate.Load();
    private static readonly MouthParts Atlas = new(Template);
    private static readonly Landmark[] Face = [.. Template.Landmarks.Select(l => new Landmark(l.Key, l.Value, Matrix3d.Identity, 1, LandmarkSource.Network))];

    /// <summary>
    /// A head whose teeth aren't a similarity away from the atlas's, and the same head elsewhere: by its own points it is
    /// found where it is, to the rounding of single precision, by the atlas's only nearly.
    /// </summary>
    [Fact]
    public void Own_parts_find_themselves()
    {
        TriangleMesh own = Mouth(p => new Vector3d(p.X * 1.12, p.Y, p.Z + (0.08 * p.X * p.X)));
        var moved = new SimilarityTransform(1.1, new Rotation3d(0.05, 0.03, -0.02, 1).Normalized().ToMatrix(), new Vector3d(0.04, -0.03, 0.05));
        TriangleMesh elsewhere = own.WithPositions([.. own.Positions.ToArray().Select(p => (Vector3)moved.Apply((Vector3d)p))]);
        IReadOnlyDictionary<Ride, SimilarityTransform> found = Atlas.Find(own, (_, _) => [SimilarityTransform.Identity]);
        Assert.Equal(3, found.Count);

        MouthParts parts = Atlas.On(own, found);

        foreach (Ride ride in found.Keys)
        {
            SimilarityTransform nearly = found[ride].Inverse().Then(Find(Atlas, ride, elsewhere, found[ride].Then(moved)));
            SimilarityTransform exact = Find(parts, ride, elsewhere, nearly);
            Vector3d joint = Template.Lattice.Joints.First(j => j.Ride == ride).Position;
            Assert.True(Vector3d.Distance(exact.Apply(joint), moved.Apply(joint)) < 1e-3, $"{ride} {Vector3d.Distance(exact.Apply(joint), moved.Apply(joint))}");
        }
    }

    [Fact]
    public void Unknown_parts_are_not_found()
    {
        TriangleMesh mouth = Mouth(p => p);

        MouthParts none = Atlas.On(mouth, new Dictionary<Ride, SimilarityTransform>());

        Assert.Empty(none.Find(mouth, (_, _) => [SimilarityTransform.Identity]));
    }

    /// <summary>Teeth that are the template's own, the jaw open, and a face that says nothing of it: each row is found, and none taken for the other.</summary>
    [Theory]
    [InlineData(0)]
    [InlineData(11)]
    [InlineData(21)]
    public void Lower_teeth_are_found_where_the_jaw_has_turned_them(double degrees)
    {
        SimilarityTransform jaw = Jaw(degrees);

        IReadOnlyDictionary<Ride, SimilarityTransform> found = Atlas.Find(Opened(jaw), new MouthStarts(Template.Landmarks, Face, SimilarityTransform.Identity).For);

        Assert.Equal(3, found.Count);
        foreach ((Ride ride, SimilarityTransform onHead) in found)
        {
            Vector3d joint = Template.Lattice.Joints.First(j => j.Ride == ride).Position;
            Vector3d expected = ride == Ride.TeethUpper ? joint : jaw.Apply(joint);
            Assert.True(Vector3d.Distance(onHead.Apply(joint), expected) < 1e-3, $"{ride} {Vector3d.Distance(onHead.Apply(joint), expected)}");
        }
    }

    /// <summary>Where the lower teeth are out of reach, or there are none, the upper ones aren't taken for them.</summary>
    [Fact]
    public void One_row_of_teeth_is_not_both()
    {
        TriangleMesh all = Template.Mesh.Triangulate(out int[] faces);
        TriangleMesh upper = all.Subset([.. Enumerable.Range(0, faces.Length).Where(t => Template.FaceParts[faces[t]] == "teeth_upper")]);

        IReadOnlyDictionary<Ride, SimilarityTransform> found = Atlas.Find(upper, new MouthStarts(Template.Landmarks, Face, SimilarityTransform.Identity).For);

        Assert.Equal([Ride.TeethUpper], found.Keys);
    }

    /// <summary>The rows of a head whose mouth is wide open are found on one whose teeth are closed, nearer to each other than at home.</summary>
    [Fact]
    public void Own_rows_of_an_open_mouth_are_found_closed()
    {
        SimilarityTransform jaw = Jaw(21);
        var onOpen = new Dictionary<Ride, SimilarityTransform> { [Ride.TeethUpper] = SimilarityTransform.Identity, [Ride.TeethLower] = jaw };
        MouthParts own = Atlas.On(Opened(jaw), onOpen);

        IReadOnlyDictionary<Ride, SimilarityTransform> found = own.Find(Mouth(p => p), (ride, _) => onOpen.TryGetValue(ride, out SimilarityTransform? onHead) ? [onHead.Inverse()] : []);

        Assert.Equal([Ride.TeethUpper, Ride.TeethLower], found.Keys);
        Vector3d incisor = Template.Lattice.Joints.Single(j => j.Name == "incisor_lower").Position;
        Assert.True(Vector3d.Distance(found[Ride.TeethLower].Apply(jaw.Apply(incisor)), incisor) < 1e-3);
    }

    private static SimilarityTransform Find(MouthParts parts, Ride ride, TriangleMesh mesh, SimilarityTransform start) =>
        parts.Find(mesh, (part, _) => part == ride ? [start] : [])[ride];

    // The jaw turned about its hinge.
    private static SimilarityTransform Jaw(double degrees)
    {
        Vector3d hinge = Template.Lattice.Joints.Single(j => j.Name == "jaw_hinge").Position;
        var turn = new Rotation3d(Math.Sin(double.DegreesToRadians(degrees / 2)), 0, 0, Math.Cos(double.DegreesToRadians(degrees / 2)));
        return new SimilarityTransform(1, turn.ToMatrix(), hinge - (turn.ToMatrix() * hinge));
    }

    private static TriangleMesh Opened(SimilarityTransform jaw)
    {
        HashSet<int> lower = [.. Enumerable.Range(0, Template.Mesh.FaceCount).Where(f => Template.FaceParts[f] is "teeth_lower" or "tongue").SelectMany(f => Template.Mesh.Face(f).ToArray())];
        return Mouth((v, p) => lower.Contains(v) ? jaw.Apply(p) : p);
    }

    private static TriangleMesh Mouth(Func<Vector3d, Vector3d> shape) => Mouth((_, p) => shape(p));

    private static TriangleMesh Mouth(Func<int, Vector3d, Vector3d> shape)
    {
        TriangleMesh all = Template.Mesh.Triangulate(out int[] faces);
        return all.WithPositions([.. all.Positions.ToArray().Select((p, v) => (Vector3)shape(v, (Vector3d)p))])
            .Subset([.. Enumerable.Range(0, faces.Length).Where(t => Template.FaceParts[faces[t]] is "teeth_upper" or "teeth_lower" or "tongue")]);
    }
}
