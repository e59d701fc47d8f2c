using System.Numerics;
using AutoPlace.Geometry;
using Xunit;

namespace AutoPlace.Tests.Geometry;

public sealed class VertexNormalsTests
{
    [Fact]
    public void Normals_are_weighted_by_the_angles()
    {
        // A fan of two triangles about the origin whose angles there are drawn, acute and obtuse; the other corners have
        // one triangle each. The weights are recomputed in double precision.
        var random = new Random(4);
        for (int i = 0; i < 2000; i++)
        {
            Vector3[] p = [Vector3.Zero, Drawn(), Drawn(), Drawn()];
            Vector3 found = VertexNormals.AngleWeighted(new TriangleMesh(p, [0, 1, 2, 0, 2, 3]))[0];
            Vector3d expected = (Weighted(p[1], p[2]) + Weighted(p[2], p[3])).Normalized();
            Assert.True(Vector3d.Distance(found, expected) < 2e-5, $"{found} for {expected}");
        }

        Vector3 Drawn() => (Vector3)Draw.Point(random);

        static Vector3d Weighted(Vector3d a, Vector3d b)
        {
            Vector3d cross = Vector3d.Cross(a, b);
            return cross.Normalized() * Math.Atan2(cross.Length, Vector3d.Dot(a, b));
        }
    }

    [Fact]
    public void Corner_of_a_cube_points_along_its_diagonal_however_its_faces_are_cut()
    {
        // Two faces cut through the corner, one past it: counting triangles would tilt the normal.
        Vector3[] p = [Vector3.Zero, Vector3.UnitX, Vector3.UnitY, Vector3.UnitZ, new(1, 1, 0), new(0, 1, 1), new(1, 0, 1)];
        var mesh = new TriangleMesh(p, [0, 4, 1, 0, 2, 4, 0, 3, 2, 3, 5, 2, 0, 1, 6, 0, 6, 3]);
        Vector3 found = VertexNormals.AngleWeighted(mesh)[0];
        Assert.True(Vector3.Distance(found, Vector3.Normalize(new Vector3(-1))) < 1e-6f, found.ToString());
    }

    [Fact]
    public void Vertex_without_area_gets_a_defined_normal() =>
        Assert.Equal(Vector3.UnitZ, VertexNormals.AngleWeighted(new TriangleMesh([Vector3.Zero, Vector3.UnitX, new(2, 0, 0)], [0, 1, 2]))[1]);
}
