using System.Numerics;
using AutoPlace.Geometry;
using AutoPlace.Landmarks;
using AutoPlace.Registration;
using AutoPlace.Template;
using CsCheck;
using Xunit;

namespace AutoPlace.Tests.Registration;

public sealed class SeparateTeethTests
{
    private static readonly TemplateHead Template = BuiltInTemplate.Load();
    private static readonly MouthParts Atlas = new(Template);
    private static readonly Vector3d[] Upper = Row("upper"), Lower = Row("lower");
    private static readonly Vector3d HalfTooth = new(0.045, 0.12, 0.045);
    private static readonly Gen<double> Share = Gen.Double[-1, 1];

    // About the middle of the row.
    private static readonly Gen<SimilarityTransform> Nearly = Gen.Select(Share, Share, Share, Share.Array[3], (scale, turn, roll, shift) =>
    {
        var middle = new Vector3d(0, -0.95, 0.2);
        var turned = new SimilarityTransform(1 + (0.05 * scale), new Rotation3d(0.03 * turn, 0, 0.03 * roll, 1).Normalized().ToMatrix(), Vector3d.Zero);
        return turned with { Translation = middle - turned.Apply(middle) + new Vector3d(0.03 * shift[0], 0.07 * shift[1], 0.07 * shift[2]) };
    });

    /// <summary>Closed forms: a box, and the tetrahedron on every other of its corners, have the box's middle; what is larger or smaller than a tooth isn't one.</summary>
    [Fact]
    public void Pieces_as_large_as_a_tooth_have_their_middle()
    {
        TriangleMesh mesh = Mesh(
            Box(new(0.1, -1, 0.3), new(0.05, 0.15, 0.04)), Tetrahedron(new(-0.1, -1, 0.3), new(0.05, 0.15, 0.04)),
            Box(new(0.5, 0, 0), new(0.25, 0.25, 0.25)), Box(new(0, -1, 0), new(0.01, 0.01, 0.01)));

        IReadOnlyList<Tooth> teeth = Tooth.Of(mesh);

        Assert.Equal([12, 4], teeth.Select(tooth => tooth.Triangles.Count));
        Assert.True(Vector3d.Distance(teeth[0].Middle(Matrix3d.Identity), new(0.1, -1, 0.3)) < 1e-6);
        Assert.True(Vector3d.Distance(teeth[1].Middle(Matrix3d.Identity), new(-0.1, -1, 0.3)) < 1e-6);
    }

    /// <summary>A tooth that was turned has its middle at the same place of it, along axes that were turned with it: whatever its shape.</summary>
    [Fact]
    public void Middles_turn_with_the_tooth() =>
        Gen.Select(Nearly, Share.Array[12]).Sample(
            (moved, noise) =>
            {
                TriangleMesh mesh = Tetrahedron(Vector3d.Zero, HalfTooth);
                mesh = mesh.WithPositions([.. mesh.Positions.ToArray().Select((p, c) => (Vector3)((Vector3d)p + (new Vector3d(noise[3 * c], noise[(3 * c) + 1], noise[(3 * c) + 2]) * 0.02)))]);

                (Tooth tooth, Tooth elsewhere) = (Tooth.Of(mesh).Single(), Tooth.Of(Moved(mesh, moved.Apply)).Single());

                Assert.True(Vector3d.Distance(elsewhere.Middle(moved.Rotation), moved.Apply(tooth.Middle(Matrix3d.Identity))) < 1e-6);
            },
            iter: 300);

    /// <summary>A row of which some teeth are missing is found where it is, from a place that is off by less than a tooth's width.</summary>
    [Fact]
    public void A_row_is_found_where_it_was_moved() =>
        Gen.Select(Nearly, Gen.Int[0, Upper.Length - 1].Array[0, 4]).Sample(
            (moved, missing) =>
            {
                IReadOnlyList<Tooth> onHead = Teeth([.. Upper.Where((_, i) => !missing.Contains(i))], Tetrahedron, moved.Apply);

                FoundRow found = SeparateTeeth.Find(Upper, onHead, [SimilarityTransform.Identity], (_, _) => true)!;

                Assert.Equal(onHead, found.Teeth.OrderBy(tooth => tooth.Triangles[0]));
                Assert.All(Upper, tooth => Assert.True(Vector3d.Distance(found.Similarity.Apply(tooth), moved.Apply(tooth)) < 1e-6));
            },
            iter: 300);

    [Fact]
    public void Few_teeth_are_no_row()
    {
        SimilarityTransform[] starts = [SimilarityTransform.Identity];
        IReadOnlyList<Tooth> six = Teeth(Upper[..6], Box, p => p);
        Assert.NotNull(SeparateTeeth.Find(Upper, six, starts, (_, _) => true));
        Assert.Null(SeparateTeeth.Find(Upper, [.. six.Take(5)], starts, (_, _) => true));
        Assert.Null(SeparateTeeth.Find(Upper[..5], six, starts, (_, _) => true));
        Assert.Null(SeparateTeeth.Find(Upper, six, starts, (_, _) => false));
    }

    /// <summary>
    /// Teeth that are boxes on the template's head and tetrahedra within these on another, with the jaw as it is and open: surfaces with little in
    /// common, but middles that are the same. Each row is found where it is, and none taken for the other.
    /// </summary>
    [Theory]
    [InlineData(0)]
    [InlineData(10)]
    public void Rows_of_coarse_teeth_are_laid_tooth_on_tooth(double degrees)
    {
        Vector3d hinge = Template.Lattice.Joints.Single(j => j.Name == "jaw_hinge").Position;
        Matrix3d turn = new Rotation3d(Math.Sin(double.DegreesToRadians(degrees / 2)), 0, 0, Math.Cos(double.DegreesToRadians(degrees / 2))).ToMatrix();
        var jaw = new SimilarityTransform(1, turn, hinge - (turn * hinge));
        MouthParts own = Atlas.On(Rows(Box, p => p), OnAtlas);

        IReadOnlyDictionary<Ride, SimilarityTransform> found = own.Find(Rows(Tetrahedron, jaw.Apply), new MouthStarts(Template.Landmarks, Face, SimilarityTransform.Identity).For);

        Assert.Equal([Ride.TeethUpper, Ride.TeethLower], found.Keys.Order());
        Assert.All(Upper, tooth => Assert.True(Vector3d.Distance(found[Ride.TeethUpper].Apply(tooth), tooth) < 1e-5));
        Assert.All(Lower, tooth => Assert.True(Vector3d.Distance(found[Ride.TeethLower].Apply(tooth), jaw.Apply(tooth)) < 1e-5));
    }

    [Fact]
    public void One_row_of_separate_teeth_is_not_both()
    {
        MouthParts own = Atlas.On(Rows(Box, p => p), OnAtlas);
        TriangleMesh upper = Mesh([.. Upper.Select(tooth => Box(tooth, HalfTooth))]);

        IReadOnlyDictionary<Ride, SimilarityTransform> found = own.Find(upper, new MouthStarts(Template.Landmarks, Face, SimilarityTransform.Identity).For);

        Assert.Equal([Ride.TeethUpper], found.Keys);
    }

    private static Landmark[] Face { get; } = [.. Template.Landmarks.Select(l => new Landmark(l.Key, l.Value, Matrix3d.Identity, 1, LandmarkSource.Network))];

    private static Dictionary<Ride, SimilarityTransform> OnAtlas { get; } =
        new() { [Ride.TeethUpper] = SimilarityTransform.Identity, [Ride.TeethLower] = SimilarityTransform.Identity };

    // Middles of seven teeth a side on half an ellipse through the row's joints on molars and incisors.
    private static Vector3d[] Row(string row)
    {
        Dictionary<string, Vector3d> joints = Template.Lattice.Joints.ToDictionary(j => j.Name, j => j.Position, StringComparer.Ordinal);
        (Vector3d front, Vector3d back) = (joints["incisor_" + row], joints[$"molar_{row}_left"]);
        double up = row == "upper" ? 0.14 : -0.14;
        return [.. Enumerable.Range(0, 14).Select(i =>
        {
            (double side, double ahead) = Math.SinCos(((2 * i) - 13) / 26.0 * Math.PI);
            double along = 1 - ahead;
            return new Vector3d(side * back.X, front.Y + ((back.Y - front.Y) * along) + up, front.Z + ((back.Z - front.Z) * along));
        })];
    }

    private static IReadOnlyList<Tooth> Teeth(Vector3d[] row, Func<Vector3d, Vector3d, TriangleMesh> tooth, Func<Vector3d, Vector3d> by) =>
        Tooth.Of(Mesh([.. row.Select(middle => Moved(tooth(middle, HalfTooth), by))]));

    private static TriangleMesh Rows(Func<Vector3d, Vector3d, TriangleMesh> tooth, Func<Vector3d, Vector3d> jaw) =>
        Mesh([.. Upper.Select(middle => tooth(middle, HalfTooth)), .. Lower.Select(middle => Moved(tooth(middle, HalfTooth), jaw))]);

    private static TriangleMesh Moved(TriangleMesh mesh, Func<Vector3d, Vector3d> by) =>
        mesh.WithPositions([.. mesh.Positions.ToArray().Select(p => (Vector3)by((Vector3d)p))]);

    private static TriangleMesh Box(Vector3d middle, Vector3d half) => new(
        Corners(middle, half), [0, 2, 1, 1, 2, 3, 4, 5, 6, 5, 7, 6, 0, 1, 4, 1, 5, 4, 2, 6, 3, 3, 6, 7, 0, 4, 2, 2, 4, 6, 1, 3, 5, 3, 7, 5]);

    private static TriangleMesh Tetrahedron(Vector3d middle, Vector3d half)
    {
        Vector3[] corners = Corners(middle, half);
        return new([corners[0], corners[3], corners[5], corners[6]], [0, 1, 2, 0, 3, 1, 0, 2, 3, 1, 3, 2]);
    }

    private static Vector3[] Corners(Vector3d middle, Vector3d half) =>
        [.. Enumerable.Range(0, 8).Select(c => (Vector3)(middle + new Vector3d((c & 1) == 0 ? -half.X : half.X, (c & 2) == 0 ? -half.Y : half.Y, (c & 4) == 0 ? -half.Z : half.Z)))];

    private static TriangleMesh Mesh(params ReadOnlySpan<TriangleMesh> pieces)
    {
        var positions = new List<Vector3>();
        var indices = new List<int>();
        foreach (TriangleMesh piece in pieces)
        {
            int first = positions.Count;
            positions.AddRange(piece.Positions);
            indices.AddRange(piece.Indices.ToArray().Select(i => first + i));
        }

        return new TriangleMesh([.. positions], [.. indices]);
    }
}
