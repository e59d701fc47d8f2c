using System.Numerics;
using AutoPlace.Geometry;
using Xunit;

namespace AutoPlace.Tests.Geometry;

public sealed class ClosestSimilarityTests
{
    private const double HalfTrust = 0.1;

    /// <summary>An ellipsoid has no other rest near by: points of it, moved by a known similarity, are brought back.</summary>
    [Theory]
    [InlineData(1)]
    [InlineData(2)]
    [InlineData(3)]
    public void Points_of_a_surface_come_back_to_it(int seed)
    {
        TriangleMesh surface = Ellipsoid();
        SimilarityTransform moved = Small(seed);
        Vector3d[] points = [.. Inside(surface).Select(moved.Apply)];
        (SimilarityTransform back, double trust) = ClosestSimilarity.Settle(points, new BoundingVolumeHierarchy(surface), SimilarityTransform.Identity, HalfTrust)!.Value;
        Assert.InRange(trust, 0.999, 1);
        SimilarityTransform round = moved.Then(back);
        Assert.All(Inside(surface), p => Assert.InRange(Vector3d.Distance(round.Apply(p), p), 0, 1e-5)); // single precision of the mesh
    }

    [Fact]
    public void Points_far_off_the_surface_hardly_pull()
    {
        TriangleMesh surface = Ellipsoid();
        Vector3d[] points = [.. Inside(surface), .. Inside(surface).Take(20).Select(p => p * 1.8)];
        (SimilarityTransform rest, double trust) = ClosestSimilarity.Settle(points, new BoundingVolumeHierarchy(surface), SimilarityTransform.Identity, HalfTrust)!.Value;
        Assert.All(Inside(surface), p => Assert.InRange(Vector3d.Distance(rest.Apply(p), p), 0, HalfTrust / 50));
        Assert.InRange(trust, 0.5, 0.999);
    }

    [Fact]
    public void A_plane_leaves_directions_open()
    {
        var plane = new TriangleMesh([new(-9, -9, 0), new(9, -9, 0), new(9, 9, 0), new(-9, 9, 0)], [0, 1, 2, 0, 2, 3]);
        Assert.Null(ClosestSimilarity.Settle(Inside(Ellipsoid()), new BoundingVolumeHierarchy(plane), SimilarityTransform.Identity, HalfTrust));
    }

    private static TriangleMesh Ellipsoid()
    {
        const int Rings = 24, Columns = 48;
        var positions = new List<Vector3>();
        var indices = new List<int>();
        for (int r = 0; r <= Rings; r++)
        {
            for (int c = 0; c < Columns; c++)
            {
                (double polar, double around) = (Math.PI * r / Rings, 2 * Math.PI * c / Columns);
                positions.Add(new((float)(Math.Sin(polar) * Math.Cos(around)), (float)(1.4 * Math.Cos(polar)), (float)(0.7 * Math.Sin(polar) * Math.Sin(around))));
                if (r < Rings)
                {
                    (int a, int b) = ((r * Columns) + c, (r * Columns) + ((c + 1) % Columns));
                    indices.AddRange([a, b, a + Columns, b, b + Columns, a + Columns]);
                }
            }
        }

        return new TriangleMesh([.. positions], [.. indices]);
    }

    // Middles of triangles, away from the poles where these have no area.
    private static Vector3d[] Inside(TriangleMesh mesh) =>
        [.. Enumerable.Range(0, mesh.TriangleCount).Where(t => t % 7 == 0 && t is > 200 and < 2000).Select(t =>
        {
            (Vector3 a, Vector3 b, Vector3 c) = mesh.Corners(t);
            return ((Vector3d)a + b + c) / 3;
        })];

    private static SimilarityTransform Small(int seed)
    {
        var random = new Random(seed);
        double Some() => ((2 * random.NextDouble()) - 1) * 0.03;
        Vector3d left = new Vector3d(1, Some(), Some()).Normalized(), up = new(Some(), 1, Some());
        up = (up - (left * Vector3d.Dot(left, up))).Normalized();
        return new SimilarityTransform(1 + Some(), Matrix3d.FromColumns(left, up, Vector3d.Cross(left, up)), new Vector3d(Some(), Some(), Some()));
    }
}
