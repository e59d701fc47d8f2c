using System.Numerics;
using AutoPlace.Geometry;
using AutoPlace.Landmarks;
using AutoPlace.Tests.Heads;
using Xunit;

namespace AutoPlace.Tests.Landmarks;

/// <summary>Constructed eyeballs that look where they are told, or nowhere.</summary>
public sealed class EyeGazeTests
{
    private const double Radius = 0.2;

    private static readonly Vector3d Centre = new(0.5, 0.02, -0.05);

    private static readonly Eyeball Ball = new(Centre, Radius, true, 1e-4);

    /// <summary>Yaw and pitch, degrees.</summary>
    public static TheoryData<double, double> Turns => new() { { 0, 0 }, { 12, 0 }, { -25, 8 }, { 3, -20 }, { 35, 15 } };

    /// <summary>The ball's vertices keep to its own axes, whatever way it looks; a tenth of their distance is what the cap's rim leaves.</summary>
    [Theory]
    [MemberData(nameof(Turns))]
    public void Cornea_tells_the_gaze(double yaw, double pitch)
    {
        Vector3d gaze = Gaze(yaw, pitch);

        Looks(gaze, 0.5, Sphere(24, d => Radius * (1 + Cornea(Angle(d, gaze)))));
    }

    [Theory]
    [MemberData(nameof(Turns))]
    public void Cornea_that_has_most_of_the_vertices_tells_it(double yaw, double pitch)
    {
        Vector3d gaze = Gaze(yaw, pitch);

        Looks(gaze, 0.1, Rings(gaze, [.. Enumerable.Range(0, 20).Select(i => 0.03 * i), 0.8, 1.2, 1.6, 2.0, 2.4, 2.8, Math.PI], Cornea));
    }

    [Theory]
    [MemberData(nameof(Turns))]
    public void Half_a_ball_with_a_cornea_tells_it(double yaw, double pitch)
    {
        Vector3d gaze = Gaze(yaw, pitch);

        Looks(gaze, 0.5, Keep(Sphere(24, d => Radius * (1 + Cornea(Angle(d, gaze)))), p => Vector3d.Dot(p - Centre, gaze) > 0));
    }

    /// <summary>Iris and sclera are apart when they have each a material.</summary>
    [Theory]
    [MemberData(nameof(Turns))]
    public void Iris_that_is_a_cap_of_its_own_tells_it(double yaw, double pitch)
    {
        Vector3d gaze = Gaze(yaw, pitch);

        Looks(gaze, 0.1, Rings(gaze, [0, 0.2, 0.4], _ => 0), Rings(gaze, [0.4, 0.8, 1.2, 1.6, 2, 2.4, 2.8, Math.PI], _ => 0));
    }

    [Theory]
    [MemberData(nameof(Turns))]
    public void Flat_iris_behind_a_plain_shell_tells_it(double yaw, double pitch)
    {
        Vector3d gaze = Gaze(yaw, pitch);

        Looks(gaze, 0.1, Rings(gaze, [0, 0.2, 0.4], angle => (0.8 / Math.Cos(angle)) - 1), Sphere(8, _ => 1.05 * Radius));
    }

    [Fact]
    public void Iris_and_pupil_that_agree_tell_it() =>
        Looks(Gaze(20, 5), 0.1, Rings(Gaze(20, 5), [0, 0.2], _ => 0), Rings(Gaze(20, 5), [0.2, 0.4, 0.5], _ => 0), Rings(Gaze(20, 5), [0.5, 1, 1.5, 2, 2.5, Math.PI], _ => 0));

    [Fact]
    public void Iris_and_cornea_that_disagree_tell_nothing() =>
        LooksNowhere(Sphere(24, d => Radius * (1.02 + Cornea(Angle(d, Gaze(0, 0))))), Rings(Gaze(20, 0), [0, 0.2, 0.4], _ => 0));

    [Fact]
    public void Plain_balls_tell_nothing()
    {
        LooksNowhere(Sphere(12, _ => Radius));
        LooksNowhere(Rings(Gaze(10, 0), [.. Enumerable.Range(0, 17).Select(i => Math.PI * i / 16)], _ => 0));
    }

    /// <summary>A shell about the ball, be it shifted, and what is left of a ball between the lids, however it was cut.</summary>
    [Theory]
    [InlineData(0.3)]
    [InlineData(0.8)]
    [InlineData(1.2)]
    [InlineData(Math.PI / 2)]
    public void Shells_and_rims_tell_nothing(double rim)
    {
        TriangleMesh half = Rings(Gaze(0, 0), [.. Enumerable.Range(0, 9).Select(i => rim * i / 8)], _ => 0);

        LooksNowhere(half);
        LooksNowhere(half, Shapes.Map(half, p => p + (0.05f * (p - (Vector3)Centre))));
        LooksNowhere(Sphere(12, _ => Radius), Shapes.Map(Sphere(12, _ => 1.04 * Radius), p => p + new Vector3(0, 0, 0.02f)));
    }

    /// <summary>Longer than broad by so much, whole and the front half.</summary>
    [Theory]
    [InlineData(1.1)]
    [InlineData(1.25)]
    [InlineData(1.5)]
    [InlineData(0.8)]
    public void Ellipsoid_tells_nothing(double length)
    {
        TriangleMesh whole = Shapes.Map(Sphere(16, _ => Radius), p => p with { Z = (float)(Centre.Z + (length * (p.Z - Centre.Z))) });

        LooksNowhere(whole);
        LooksNowhere(Keep(whole, p => p.Z > Centre.Z));
        LooksNowhere(Keep(whole, p => p.Z > Centre.Z + (0.1 * Radius)));
    }

    [Theory]
    [InlineData(1)]
    [InlineData(2)]
    [InlineData(3)]
    [InlineData(4)]
    public void Noise_tells_nothing(int seed)
    {
        var random = new Random(seed);

        LooksNowhere(Sphere(12, _ => Radius * (1 + (0.06 * random.NextDouble()))));
        LooksNowhere(Keep(Sphere(12, _ => Radius * (1 + (0.06 * random.NextDouble()))), p => p.Z > Centre.Z));
    }

    /// <summary>A nerve at the back, and a lump that isn't round.</summary>
    [Fact]
    public void Other_things_that_rise_tell_nothing()
    {
        LooksNowhere(Sphere(24, d => Radius * (1 + Cornea(Angle(d, -Gaze(15, 0))))));
        LooksNowhere(Sphere(24, d => Radius * (1 + (0.1 * Math.Exp(-30 * d.X * d.X) * Math.Exp(-3 * d.Y * d.Y) * Math.Max(0, d.Z)))));
    }

    [Fact]
    public void Ball_that_was_inferred_or_stands_for_a_plate_looks_nowhere()
    {
        TriangleMesh[] pieces = [Sphere(24, d => Radius * (1 + Cornea(Angle(d, Gaze(0, 0)))))];

        Assert.NotNull(EyeGaze.Of(Ball, pieces));
        Assert.Null(EyeGaze.Of(Ball with { IsModelled = false }, pieces));
        Assert.Null(EyeGaze.Of(Ball with { IsPlate = true }, pieces));
    }

    private static void Looks(Vector3d gaze, double withinDegrees, params TriangleMesh[] pieces)
    {
        Vector3d? found = EyeGaze.Of(Ball, pieces);

        Assert.NotNull(found);
        Assert.InRange(double.RadiansToDegrees(Angle(found.Value, gaze)), 0, withinDegrees);
    }

    private static void LooksNowhere(params TriangleMesh[] pieces) => Assert.Null(EyeGaze.Of(Ball, pieces));

    private static Vector3d Gaze(double yaw, double pitch)
    {
        (double sinYaw, double cosYaw) = Math.SinCos(double.DegreesToRadians(yaw));
        (double sinPitch, double cosPitch) = Math.SinCos(double.DegreesToRadians(pitch));
        return new(sinYaw * cosPitch, sinPitch, cosYaw * cosPitch);
    }

    // Rises by a tenth of the radius, to a rim at half a radian.
    private static double Cornea(double angle) => angle < 0.5 ? 0.1 * (1 + Math.Cos(Math.PI * angle / 0.5)) / 2 : 0;

    private static double Angle(Vector3d a, Vector3d b) => Math.Atan2(Vector3d.Cross(a, b).Length, Vector3d.Dot(a, b));

    private static TriangleMesh Sphere(int cells, Func<Vector3d, double> radius) =>
        Shapes.Map(Shapes.Sphere(cells), d => (Vector3)(Centre + ((Vector3d)d * radius(d))));

    private static TriangleMesh Keep(TriangleMesh mesh, Func<Vector3d, bool> keep)
    {
        int[] kept = [.. Shapes.Keep(mesh, p => keep(p)).Indices];
        int[] used = [.. kept.Distinct()];
        return new([.. used.Select(v => mesh.Positions[v])], [.. kept.Select(v => Array.IndexOf(used, v))]);
    }

    // Rings about an axis, at angles from it; raised over the ball by a share of its radius. No vertex is there twice.
    private static TriangleMesh Rings(Vector3d axis, double[] angles, Func<double, double> raised)
    {
        const int Around = 24;
        (Vector3d first, Vector3d second) = axis.AxesAcross();
        var positions = new List<Vector3>();
        int[][] rings = [.. angles.Select(angle =>
        {
            int start = positions.Count, count = angle is 0 or Math.PI ? 1 : Around;
            for (int i = 0; i < count; i++)
            {
                (double sin, double cos) = Math.SinCos(Math.Tau * i / Around);
                Vector3d d = (axis * Math.Cos(angle)) + (((first * cos) + (second * sin)) * Math.Sin(angle));
                positions.Add((Vector3)(Centre + (d * (Radius * (1 + raised(angle))))));
            }

            return Enumerable.Range(0, Around).Select(i => start + (i % count)).ToArray();
        })];
        var corners = new List<int>();
        foreach ((int[] inner, int[] outer) in rings.Zip(rings.Skip(1)))
        {
            for (int i = 0; i < Around; i++)
            {
                (int a, int b, int c, int d) = (inner[i], outer[i], outer[(i + 1) % Around], inner[(i + 1) % Around]);
                corners.AddRange(b == c ? [] : [a, b, c]);
                corners.AddRange(a == d ? [] : [a, c, d]);
            }
        }

        return new([.. positions], [.. corners]);
    }
}
