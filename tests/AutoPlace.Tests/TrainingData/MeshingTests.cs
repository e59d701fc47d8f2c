using System.Numerics;
using AutoPlace.TrainingData.Meshing;
using AutoPlace.TrainingData.Sampling;
using Xunit;

namespace AutoPlace.Tests.TrainingData;

public sealed class MeshingTests
{
    [Fact]
    public void Ellipsoid_is_closed_and_has_its_volume()
    {
        var mesh = new WorkMesh();
        Primitives.Ellipsoid(mesh, new(1, 2, 3), new(2, 3, 1), Quaternion.CreateFromYawPitchRoll(1, 2, 3), 40, Stuff.Hair);
        Assert.True(IsClosed(mesh));
        Assert.Equal(4.0 / 3 * Math.PI * 2 * 3 * 1, Volume(mesh), 0.1);
    }

    [Fact]
    public void Straight_tube_is_closed_and_has_the_volume_of_its_prism()
    {
        var mesh = new WorkMesh();
        const int Segments = 7;
        Primitives.Tube(mesh, [Vector3.Zero, new(0, 0, 2), new(0, 0, 5)], [new(1, 2), new(1, 2), new(1, 2)], Vector3.UnitY, Segments, false, Stuff.Hair);
        Assert.True(IsClosed(mesh));

        // Area of a regular polygon inscribed in the unit circle, stretched by the half axes.
        double area = 0.5 * Segments * Math.Sin(2 * Math.PI / Segments) * 1 * 2;
        Assert.Equal(5 * area, Math.Abs(Volume(mesh)), 1e-4);
    }

    [Fact]
    public void Decimation_keeps_seeds_and_makes_no_degenerate_triangles()
    {
        var mesh = new WorkMesh();
        Primitives.Ellipsoid(mesh, Vector3.Zero, new(5, 5, 5), Quaternion.Identity, 40, Stuff.Hair);
        int before = mesh.TriangleCount;
        int[] salient = [0, 100, 2000];
        new Decimation().Apply(mesh, 2, 2, _ => false, salient, new SeededRandom(1, 2, 3));
        Assert.InRange(mesh.TriangleCount, 50, before / 5);
        int[] used = [.. mesh.Indices.ToArray().Distinct()];
        Assert.All(salient, v => Assert.Contains(v, used));
        for (int t = 0; t < mesh.TriangleCount; t++)
        {
            Assert.Equal(3, mesh.Indices.Slice(3 * t, 3).ToArray().Distinct().Count());
        }

        // Contraction of a sphere to vertices 2 apart keeps most of its volume.
        Assert.InRange(Volume(mesh), 0.8 * 4 / 3 * Math.PI * 125, 4.0 / 3 * Math.PI * 125);
    }

    [Fact]
    public void Axis_frames_are_the_24_turns_of_the_cube()
    {
        var frames = new HashSet<(Vector3, Vector3)>();
        static Vector3 Round(Vector3 v) => new(MathF.Round(v.X), MathF.Round(v.Y), MathF.Round(v.Z));
        for (int i = 0; i < 24; i++)
        {
            Quaternion turn = PoseSampler.AxisFrame(i);
            Vector3 x = Vector3.Transform(Vector3.UnitX, turn), y = Vector3.Transform(Vector3.UnitY, turn);
            Assert.True(Vector3.Distance(x, Round(x)) < 1e-5f && Vector3.Distance(y, Round(y)) < 1e-5f);
            frames.Add((Round(x), Round(y)));
        }

        Assert.Equal(24, frames.Count);
        Assert.Equal(Quaternion.Identity, PoseSampler.AxisFrame(0));
    }

    [Fact]
    public void Facing_follows_the_angle_of_the_view()
    {
        var poses = new PoseSampler(new SeededRandom(3, 3, 3), 0.3f);
        int facing = 0;
        for (int n = 0; n < 500; n++)
        {
            SampledView sampled = poses.Next();
            double yaw = Math.Atan2(Math.Abs(sampled.View.Toward.X), sampled.View.Toward.Z) * 180 / Math.PI;
            double tilt = Math.Acos(sampled.View.Up.Y) * 180 / Math.PI;
            Assert.Equal(!sampled.WrongFrame && yaw <= 60 && tilt <= 35, sampled.Facing);
            Assert.Equal(1, Vector3.Dot(Vector3.Cross(sampled.View.Right, sampled.View.Up), sampled.View.Toward), 1e-4f);
            facing += sampled.Facing ? 1 : 0;
        }

        Assert.InRange(facing, 250, 400);
    }

    [Fact]
    public void Bump_field_equals_the_sum_of_its_bumps()
    {
        var random = new SeededRandom(9, 9, 9);
        Vector3 Point(float size) => size * new Vector3(random.Normal(), random.Normal(), random.Normal());
        for (int count = 0; count < 70; count++)
        {
            Vector3[] before = [.. Enumerable.Range(0, count).Select(_ => Point(3))];
            BumpField.Bump[] bumps = [.. Enumerable.Range(0, 5).Select(_ => new BumpField.Bump(Point(3), Point(1), 4))];
            Vector3[] after = [.. before];
            BumpField.Apply(after, bumps);
            for (int i = 0; i < count; i++)
            {
                Vector3 expected = before[i];
                foreach (BumpField.Bump bump in bumps)
                {
                    expected += WarpSampler.Bump(before[i] - bump.Centre, bump.Radius) * bump.Shift;
                }

                Assert.True(Vector3.Distance(expected, after[i]) < 1e-4f);
            }
        }
    }

    [Theory]
    [InlineData("fancy", "unknown kind 'fancy'")]
    [InlineData("stylised=x", "'stylised=x'")]
    [InlineData("wrong-frame=1", "names no kind of head")]
    public void Wrong_list_of_kinds_is_refused(string text, string message)
    {
        FormatException exception = Assert.Throws<FormatException>(() => KindShares.Parse(text));
        Assert.Contains(message, exception.Message, StringComparison.Ordinal);
    }

    private static bool IsClosed(WorkMesh mesh)
    {
        var edges = new Dictionary<(int, int), int>();
        for (int i = 0; i < mesh.Indices.Length; i += 3)
        {
            for (int c = 0; c < 3; c++)
            {
                (int a, int b) = (mesh.Indices[i + c], mesh.Indices[i + ((c + 1) % 3)]);
                edges[(a, b)] = edges.GetValueOrDefault((a, b)) + 1;
            }
        }

        return edges.All(e => e.Value == 1 && edges.ContainsKey((e.Key.Item2, e.Key.Item1)));
    }

    // By the divergence theorem; positive when triangles are counter-clockwise seen from outside.
    private static double Volume(WorkMesh mesh)
    {
        double sum = 0;
        for (int i = 0; i < mesh.Indices.Length; i += 3)
        {
            (Vector3 a, Vector3 b, Vector3 c) = (mesh.Positions[mesh.Indices[i]], mesh.Positions[mesh.Indices[i + 1]], mesh.Positions[mesh.Indices[i + 2]]);
            sum += Vector3.Dot(a, Vector3.Cross(b, c)) / 6.0;
        }

        return sum;
    }
}
