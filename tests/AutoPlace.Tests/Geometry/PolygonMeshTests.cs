using System.Numerics;
using AutoPlace.Geometry;
using Xunit;

namespace AutoPlace.Tests.Geometry;

public sealed class PolygonMeshTests
{
    /// <summary>Corners on a bent ellipse: no two cuts are alike.</summary>
    [Theory]
    [InlineData(4)]
    [InlineData(5)]
    [InlineData(6)]
    [InlineData(9)]
    public void Face_is_cut_the_same_however_its_vertices_are_numbered(int corners)
    {
        Vector3[] polygon = [.. Enumerable.Range(0, corners).Select(i => (2 * Math.PI * i / corners) + 0.3)
            .Select(angle => new Vector3(2 * (float)Math.Cos(angle), (float)Math.Sin(angle), 0.3f * (float)Math.Sin(3 * angle)))];

        for (int turn = 0; turn < corners; turn++)
        {
            int[] order = [.. Enumerable.Range(0, corners).Select(i => (i + turn) % corners)];
            var turned = new PolygonMesh([.. order.Select(i => polygon[i])], [0, corners], [.. Enumerable.Range(0, corners)]);
            Assert.Equal(Cut(new PolygonMesh(polygon, [0, corners], [.. Enumerable.Range(0, corners)])), Cut(turned));
        }
    }

    // Areas of the triangles tell one cut from another.
    private static double[] Cut(PolygonMesh mesh)
    {
        TriangleMesh triangles = mesh.Triangulate(out _);
        return [.. Enumerable.Range(0, triangles.TriangleCount)
            .Select(t => triangles.Corners(t) is var (a, b, c) ? Math.Round(Vector3.Cross(b - a, c - a).Length(), 4) : 0).Order()];
    }
}
