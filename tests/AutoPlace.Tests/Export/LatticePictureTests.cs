using System.Numerics;
using AutoPlace.Export;
using AutoPlace.Geometry;
using AutoPlace.Registration;
using AutoPlace.Rendering;
using AutoPlace.Template;
using AutoPlace.Tests.Rendering;
using SixLabors.ImageSharp;
using SixLabors.ImageSharp.PixelFormats;
using Xunit;

namespace AutoPlace.Tests.Export;

public sealed class LatticePictureTests
{
    private static readonly TriangleMesh Head = Shapes.Ellipsoid(new(1, 1.4f, 1.2f), 16);

    private static readonly PictureOptions OneView = new()
    {
        Views = [new(string.Empty, OrthographicView.Around(Vector3.Zero, 0, 0, 2, 1))],
        PanelSize = 200,
        Fit = false,
        Legend = false,
    };

    [Fact]
    public void Joint_on_the_skin_shows_its_regions_colour_and_one_behind_the_head_does_not()
    {
        PictureContent content = new() { Mesh = Head, Joints = [new(new(0.4f, 0.3f, 1.3f), "lip", 3), new(new(-0.4f, 0.3f, -1.3f), "lip", 3)] };
        using Image<Rgba32> image = LatticePicture.Draw(content, OneView);
        var vermilion = new Rgba32(213, 94, 0);
        Assert.Equal(vermilion, image[120, 85]);
        Assert.NotEqual(vermilion, image[80, 85]);
    }

    [Fact]
    public void Hidden_joint_is_hollow_and_clearer_when_seen_through()
    {
        PictureContent empty = new() { Mesh = Head };
        PictureContent content = empty with { Joints = [new(new(0.4f, 0.3f, -0.2f), "nose", 3)] };
        float[] difference = new float[2];
        foreach (bool seeThrough in (bool[])[false, true])
        {
            PictureOptions options = OneView with { SeeThrough = seeThrough };
            using Image<Rgba32> without = LatticePicture.Draw(empty, options), with = LatticePicture.Draw(content, options);
            int right = Enumerable.Range(120, 20).MaxBy(x => Difference(without[x, 85], with[x, 85]));
            Assert.True(Difference(without[right, 85], with[right, 85]) > Difference(without[120, 85], with[120, 85]), "the middle is filled");
            difference[seeThrough ? 1 : 0] = Difference(without[right, 85], with[right, 85]);
        }

        Assert.True(difference[1] > 1.5f * difference[0] && difference[0] > 0);
    }

    /// <summary>From below, what is seen of a neck's inside is left out. Hair of a larger area beside the head, a piece of its own that is inside out, doesn't make that of the face.</summary>
    [Fact]
    public void Head_is_seen_from_below_whatever_way_round_its_hair_is()
    {
        TriangleMesh hair = Shapes.Ellipsoid(new(3, 3, 3), 16);
        int first = Head.VertexCount;
        var both = new TriangleMesh(
            [.. Head.Positions, .. hair.Positions.ToArray().Select(p => p + new Vector3(20, 0, 0))],
            [.. Head.Indices, .. hair.Indices.ToArray().Select((_, i) => first + hair.Indices[(3 * (i / 3)) + 2 - (i % 3)])]);
        PictureOptions below = OneView with { Views = [new(string.Empty, OrthographicView.Around(Vector3.Zero, 0, -60, 2, 1))] };

        using Image<Rgba32> alone = LatticePicture.Draw(new() { Mesh = Head }, below), beside = LatticePicture.Draw(new() { Mesh = both }, below);
        using Image<Rgba32> nothing = LatticePicture.Draw(new() { Mesh = new([], []) }, below);

        Assert.NotEqual(nothing[100, 100], alone[100, 100]);
        Assert.Equal(alone[100, 100], beside[100, 100]);
    }

    [Fact]
    public void Curve_runs_through_its_points()
    {
        Vector3[] points = [new(-0.8f, 0.2f, 1.4f), new(-0.2f, -0.3f, 1.4f), new(0.4f, 0.1f, 1.4f), new(0.8f, -0.6f, 1.4f)];
        PictureContent bare = new() { Mesh = Head };
        PictureOptions options = OneView with { PanelSize = 400 };
        using Image<Rgba32> without = LatticePicture.Draw(bare, options);
        using Image<Rgba32> with = LatticePicture.Draw(bare with { Curves = [new(points, "brow")] }, options);
        OrthographicView view = OneView.Views[0].View.WithSize(400);
        foreach (Vector3 point in points)
        {
            Vector3 p = view.Project(point);
            var yellow = new Rgba32(240, 228, 66);
            float before = Difference(without[(int)p.X, (int)p.Y], yellow), after = Difference(with[(int)p.X, (int)p.Y], yellow);
            Assert.True(after < 0.75f * before, $"{after} of {before} at {point}");
        }
    }

    [Fact]
    public void Equal_input_gives_equal_pixels()
    {
        PictureContent content = new()
        {
            Mesh = Head,
            VertexNormals = VertexNormals.AngleWeighted(Head),
            Joints = [new(new(0.4f, 0.3f, 1.3f), "lip"), new(new(0.4f, 0.3f, -1.3f), null)],
            Curves = [new([new(0, 0, 1.3f), new(0.5f, 0, 1.2f)], null), new([new(0, 0, 1.3f)], "lip")],
            Landmarks = [new(0, 0.5f, 1.1f)],
            Edges = [(0, 1)],
        };
        PictureOptions options = new() { PanelSize = 64 };
        using Image<Rgba32> first = LatticePicture.Draw(content, options), second = LatticePicture.Draw(content, options);
        Assert.True(Pixels(first).AsSpan().SequenceEqual(Pixels(second)), "two drawings differ");
    }

    [Theory]
    [InlineData(1)]
    [InlineData(3)]
    [InlineData(9)]
    public void Sheet_is_as_large_as_its_panels(int columns)
    {
        PictureContent content = new() { Mesh = Head, Joints = [new(default, "lip")] };
        using Image<Rgba32> image = LatticePicture.Draw(content, new() { PanelSize = 90, Columns = columns });
        int across = Math.Min(columns, 6), down = (6 + across - 1) / across;
        Assert.Equal((across * 91) - 1, image.Width);
        Assert.Equal((down * 91) - 1, image.Height);
    }

    [Fact]
    public void Fitted_views_show_the_whole_head()
    {
        // A head far larger than usual; with its background apart from the head it stays clear of the border.
        TriangleMesh large = Shapes.Ellipsoid(new(1.6f, 2.6f, 2.2f), 16);
        Vector3[] raised = [.. large.Positions.ToArray().Select(p => p + new Vector3(0.3f, 0.7f, -0.4f))];
        using Image<Rgba32> image = LatticePicture.Draw(
            new() { Mesh = large.WithPositions(raised) }, new() { PanelSize = 96, Views = [PictureOptions.Sheet[0]], Legend = false });
        using Image<Rgba32> nothing = LatticePicture.Draw(
            new() { Mesh = new([], []) }, new() { PanelSize = 96, Views = [PictureOptions.Sheet[0]], Legend = false });
        for (int i = 0; i < 96; i++)
        {
            Assert.Equal(nothing[i, 0], image[i, 0]);
            Assert.Equal(nothing[0, i], image[0, i]);
            Assert.Equal(nothing[95, i], image[95, i]);
        }

        Assert.NotEqual(nothing[48, 48], image[48, 48]);
    }

    [Fact]
    public void Modelled_edges_are_those_of_the_polygons()
    {
        Vector3[] corners = [.. Enumerable.Range(0, 8).Select(i => new Vector3(i & 1, (i >> 1) & 1, i >> 2))];
        var cube = new PolygonMesh(
            corners, [0, 4, 8, 12, 16, 20, 24], [0, 2, 3, 1, 4, 5, 7, 6, 0, 1, 5, 4, 2, 6, 7, 3, 0, 4, 6, 2, 1, 3, 7, 5]);
        IReadOnlyList<(int From, int To)> edges = PictureContent.ModelledEdges(cube);
        Assert.Equal(12, edges.Count);
        Assert.All(edges, e => Assert.Equal(1, Vector3.Distance(corners[e.From], corners[e.To])));
    }

    [Fact]
    public void Placement_gives_joints_rows_in_their_colour_and_grey_columns()
    {
        JointPlacement[] joints = [Placed("a", "lip"), Placed("b", "lip"), Placed("c", "cheek")];
        var placement = new LatticePlacement(joints, [new("row", ["a", "b"], true), new("mixed", ["b", "c"])], [new("column", ["a", "b"])]);
        PictureContent content = PictureContent.Of(Head, default, placement);
        Assert.Equal(["lip", "lip", "cheek"], content.Joints.Select(j => j.Region));
        Assert.Equal([null, "lip", null], content.Curves.Select(c => c.Region));
        Assert.Equal([false, true, false], content.Curves.Select(c => c.Closed));
        Assert.Equal((Vector3)joints[2].Position, content.Curves[2].Points[1]);
    }

    /// <summary>Beside the head, and below its joints; a hat above it belongs to it.</summary>
    [Fact]
    public void Placement_shows_the_placed_head_alone()
    {
        TriangleMesh hat = Shapes.Ellipsoid(new(1.5f, 0.3f, 1.5f), 8), ball = Shapes.Ellipsoid(new(1, 1.4f, 1.2f), 8);
        TriangleMesh all = Joined((Head, default), (hat, new(0, 1.8f, 0)), (ball, new(3.4f, 0, 0)), (ball, new(0, -3.2f, 0)));
        JointPlacement[] joints = [At(new(-1, 0, 0)), At(new(1, 0, 0)), At(new(0, 1.4, 0)), At(new(0, -1.4, 0)), At(new(0, 0, 1.2)), At(new(0, 0, -1.2))];

        PictureContent content = PictureContent.Of(all, default, new LatticePlacement(joints, [], []));

        Assert.Equal(all.VertexCount, content.Mesh.VertexCount);
        Assert.Equal(all.Indices[..(3 * (Head.TriangleCount + hat.TriangleCount))], content.Mesh.Indices);
    }

    /// <summary>What the face looks at is no place on the head.</summary>
    [Fact]
    public void Joint_in_front_of_the_face_is_not_drawn()
    {
        JointPlacement nose = At(new(0, 0, 1)), gaze = At(new(0, 0, 3)) with { Joint = nose.Joint with { Name = "gaze", Kind = JointKind.Attachment } };

        PictureContent content = PictureContent.Of(Head, default, new LatticePlacement([nose, gaze], [], []));

        Assert.Equal((Vector3)nose.Position, Assert.Single(content.Joints).Position);
    }

    [Fact]
    public void Edge_outside_the_mesh_is_named()
    {
        PictureContent content = new() { Mesh = Head, Edges = [(0, 1), (2, 99999)] };
        ArgumentException error = Assert.Throws<ArgumentException>("content", () => LatticePicture.Draw(content, OneView));
        Assert.Contains("edge 1: vertices 2 and 99999", error.Message, StringComparison.Ordinal);
    }

    private static JointPlacement Placed(string name, string region) => new()
    {
        Joint = new() { Name = name, Region = region, Kind = JointKind.Surface, Position = default, Ride = Ride.Skin },
        Position = new(name[0] - 'a', 1, 2),
        Rotation = Rotation3d.Identity,
        State = JointState.Modelled,
        LocalSize = 1,
        Lift = 0,
        Radius90 = 0.1,
    };

    private static JointPlacement At(Vector3d position) => Placed("a", "lip") with { Position = position };

    private static TriangleMesh Joined(params (TriangleMesh Mesh, Vector3 By)[] pieces)
    {
        var positions = new List<Vector3>();
        var indices = new List<int>();
        foreach ((TriangleMesh mesh, Vector3 by) in pieces)
        {
            int first = positions.Count;
            indices.AddRange(mesh.Indices.ToArray().Select(v => first + v));
            positions.AddRange(mesh.Positions.ToArray().Select(p => p + by));
        }

        return new TriangleMesh([.. positions], [.. indices]);
    }

    private static float Difference(Rgba32 a, Rgba32 b) => Vector3.Distance(new(a.R, a.G, a.B), new(b.R, b.G, b.B));

    private static Rgba32[] Pixels(Image<Rgba32> image)
    {
        var pixels = new Rgba32[image.Width * image.Height];
        image.CopyPixelDataTo(pixels);
        return pixels;
    }
}
