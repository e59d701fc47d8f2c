using System.Numerics;
using AutoPlace.Conditioning;
using AutoPlace.Geometry;
using Xunit;

namespace AutoPlace.Tests.Conditioning;

public sealed class MeshSymmetryTests
{
    private static readonly HeadFrame Looked = new(
        new(0.013, 1.6, 0.06), new Vector3d(0.999, 0.02, 0.03).Normalized(), Vector3d.UnitY, Vector3d.UnitZ, 0.063);

    [Fact]
    public void Head_built_about_the_origin_gets_exactly_that_plane()
    {
        HeadFrame? built = MeshSymmetry.AlignToBuiltPlane(MirroredCloud(0), Looked);
        Assert.NotNull(built);
        Assert.Equal(Vector3d.UnitX, built.Left);
        Assert.Equal(0, built.Origin.X, 1e-12);
        Assert.Equal(1, Matrix3d.FromColumns(built.Left, built.Up, built.Front).Determinant, 1e-12);
    }

    [Fact]
    public void Head_moved_aside_gets_the_plane_through_its_middle()
    {
        HeadFrame? built = MeshSymmetry.AlignToBuiltPlane(MirroredCloud(0.4f), Looked with { Origin = new(0.41, 1.6, 0.06) });
        Assert.NotNull(built);
        Assert.Equal(0.4, built.Origin.X, 1e-6);
    }

    [Fact]
    public void Asymmetric_head_is_left_alone()
    {
        Vector3[] cloud = MirroredCloud(0);
        for (int i = 0; i < cloud.Length; i += 2)
        {
            cloud[i] += new Vector3(0.003f, 0.002f, 0);
        }

        Assert.Null(MeshSymmetry.AlignToBuiltPlane(cloud, Looked));
    }

    private static Vector3[] MirroredCloud(float offset)
    {
        var random = new Random(5);
        var cloud = new List<Vector3>();
        for (int i = 0; i < 500; i++)
        {
            float x = random.NextSingle() * 0.08f, y = 1.5f + (random.NextSingle() * 0.2f), z = random.NextSingle() * 0.1f;
            cloud.Add(new(offset + x, y, z));
            cloud.Add(new(offset - x, y, z));
        }

        return [.. cloud];
    }
}
