using System.Numerics;
using AutoPlace.Conditioning;
using AutoPlace.Geometry;
using AutoPlace.Registration;
using AutoPlace.Template;
using Xunit;

namespace AutoPlace.Tests.Landmarks;

/// <summary>The mean face laid on its own head and on a changed one; distances in interocular distances.</summary>
public sealed class MeanFaceTests
{
    private static readonly PreparedTemplate Template = new(BuiltInTemplate.Load());
    private static readonly TriangleMesh Head = Template.Head.Mesh.Triangulate(out _);
    private static readonly HeadFrame Atlas = new(Vector3d.Zero, Vector3d.UnitX, Vector3d.UnitY, Vector3d.UnitZ, 1);

    [Theory]
    [InlineData(1)]
    [InlineData(2)]
    [InlineData(3)]
    public void On_its_own_head_it_comes_to_rest_where_it_was_taken_from(int seed)
    {
        HeadFrame found = Template.MeanFace.Settle(Disturbed(Atlas, seed), Head);
        Assert.InRange(Apart(found, Atlas), 0, 1e-5);
    }

    [Fact]
    public void On_another_head_the_rest_is_the_same_from_wherever_it_began()
    {
        TriangleMesh wider = Head.WithPositions([.. Head.Positions.ToArray().Select(p => new Vector3(p.X * 1.08f, p.Y, p.Z * 0.95f))]);
        HeadFrame rest = Template.MeanFace.Settle(Atlas, wider);
        Assert.True(Apart(rest, Atlas) > 0.01, "the head is another one");
        for (int seed = 1; seed <= 6; seed++)
        {
            Assert.InRange(Apart(Template.MeanFace.Settle(Disturbed(Atlas, seed), wider), rest), 0, 1e-5);
        }
    }

    [Fact]
    public void Without_a_face_near_it_the_frame_stays()
    {
        HeadFrame far = Atlas with { Origin = new Vector3d(0, 0, 30) };
        HeadFrame aside = Atlas with { Origin = new Vector3d(0.5, 0, 0) };
        Assert.Same(far, Template.MeanFace.Settle(far, Head));
        Assert.Same(aside, Template.MeanFace.Settle(aside, Head));
    }

    [Fact]
    public void A_flat_board_gives_no_hold()
    {
        var board = new TriangleMesh([new(-9, -9, 0), new(9, -9, 0), new(9, 9, 0), new(-9, 9, 0)], [0, 1, 2, 0, 2, 3]);
        Assert.Same(Atlas, Template.MeanFace.Settle(Atlas, board));
    }

    // Turned by about a degree, shifted and scaled by some hundredths.
    private static HeadFrame Disturbed(HeadFrame frame, int seed)
    {
        var random = new Random(seed);
        double Some() => ((2 * random.NextDouble()) - 1) * 0.03;
        Vector3d left = (frame.Left + (frame.Up * Some()) + (frame.Front * Some())).Normalized(), up = frame.Up + (frame.Front * Some());
        up = (up - (left * Vector3d.Dot(left, up))).Normalized();
        return new HeadFrame(new Vector3d(Some(), Some(), Some()), left, up, Vector3d.Cross(left, up), 1 + Some());
    }

    private static double Apart(HeadFrame a, HeadFrame b) => new[]
    {
        Vector3d.Distance(a.Origin, b.Origin), Vector3d.Distance(a.Left, b.Left), Vector3d.Distance(a.Up, b.Up), Math.Abs(a.InterocularDistance - b.InterocularDistance),
    }.Max();
}
