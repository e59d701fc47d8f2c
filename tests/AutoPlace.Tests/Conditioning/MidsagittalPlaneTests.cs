using System.Numerics;
using AutoPlace.Conditioning;
using AutoPlace.Geometry;
using Xunit;

namespace AutoPlace.Tests.Conditioning;

public sealed class MidsagittalPlaneTests
{
    [Fact]
    public void Plane_of_a_tilted_symmetric_surface_is_found_from_a_wrong_guess()
    {
        Vector3d truth = new Vector3d(0.98, 0.12, -0.16).Normalized();
        const double offset = 0.07;
        TriangleMesh mesh = Relief(truth, offset);
        MidsagittalPlane plane = MidsagittalPlane.Fit(
            new BoundingVolumeHierarchy(mesh), [.. mesh.Positions.ToArray().Select(p => (Vector3d)p)], Vector3d.UnitX, 0, 0.5);
        Assert.True(Vector3d.Dot(plane.Normal, truth) > Math.Cos(0.2 * Math.PI / 180), plane.ToString());
        Assert.Equal(offset, plane.Offset, 0.003);
        Assert.True(plane.Asymmetry < 0.005);
    }

    [Fact]
    public void Mirroring_twice_returns_the_point()
    {
        var plane = new MidsagittalPlane(new Vector3d(0.6, 0.8, 0), 0.3, 0);
        var p = new Vector3d(1, 2, 3);
        Assert.True(Vector3d.Distance(p, plane.Mirror(plane.Mirror(p))) < 1e-12);
    }

    // A height field with bumps, even in the first coordinate of its own axes, turned so that they lie across `normal`.
    private static TriangleMesh Relief(Vector3d normal, double offset)
    {
        Vector3d up = (Vector3d.UnitY - (normal * normal.Y)).Normalized();
        Vector3d front = Vector3d.Cross(normal, up);
        const int n = 61;
        var positions = new Vector3[n * n];
        var indices = new List<int>();
        for (int i = 0; i < n; i++)
        {
            for (int j = 0; j < n; j++)
            {
                double x = (i - (n / 2)) / 30.0, y = (j - (n / 2)) / 30.0;
                double z = (0.5 * Math.Exp(-((x * x) + ((y - 0.2) * (y - 0.2))) * 12)) - (0.4 * x * x) - (0.2 * y * y)
                    + (0.1 * Math.Cos(9 * x) * Math.Sin(4 * y));
                positions[(i * n) + j] = (Vector3)((normal * (x + offset)) + (up * y) + (front * z));
                if (i > 0 && j > 0)
                {
                    int a = (i * n) + j;
                    indices.AddRange([a - n - 1, a - 1, a, a - n - 1, a, a - n]);
                }
            }
        }

        return new TriangleMesh(positions, [.. indices]);
    }
}
