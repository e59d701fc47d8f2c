using System.Numerics;
using AutoPlace.Geometry;
using AutoPlace.Template;
using Xunit;

namespace AutoPlace.Tests.Geometry;

public sealed class TopologicalMirrorTests
{
    private static readonly TemplateHead Template = BuiltInTemplate.Load();

    /// <summary>A grid of 6 x 4 quads about x = 0, bent out of every symmetry: its connectivity still tells the twins.</summary>
    [Fact]
    public void Twins_of_a_bent_grid_are_those_of_the_flat_one()
    {
        PolygonMesh grid = Grid(p => p + new Vector3(0.3f * p.Y * p.Y, 0.1f * p.X, MathF.Sin(p.X)));

        int[] twins = TopologicalMirror.Twins(grid, new MeshAdjacency(grid), OffPlane(Grid(p => p)))!;

        for (int v = 0; v < twins.Length; v++)
        {
            Assert.Equal((v / 7 * 7) + 6 - (v % 7), twins[v]);
        }
    }

    [Fact]
    public void Twins_on_the_template_are_mirror_images()
    {
        PolygonMesh mesh = Template.Mesh;
        double[] offPlane = new double[mesh.VertexCount];
        Array.Fill(offPlane, double.PositiveInfinity);
        for (int f = 0; f < mesh.FaceCount; f++)
        {
            foreach (int v in mesh.Face(f))
            {
                offPlane[v] = Template.FaceParts[f] == "skin" ? Math.Abs(mesh.Positions[v].X) : offPlane[v];
            }
        }

        int[] twins = TopologicalMirror.Twins(mesh, new MeshAdjacency(mesh), offPlane)!;

        int[] skin = [.. Enumerable.Range(0, twins.Length).Where(v => double.IsFinite(offPlane[v]))];
        Assert.True(skin.Count(v => twins[v] >= 0) > 0.99 * skin.Length);
        Assert.All(skin.Where(v => twins[v] >= 0), v =>
        {
            Assert.Equal(v, twins[twins[v]]);
            Assert.True(Vector3.Distance(mesh.Positions[twins[v]] * new Vector3(-1, 1, 1), mesh.Positions[v]) < 0.01f);
        });
    }

    [Fact]
    public void Quad_cut_on_one_side_is_no_symmetry()
    {
        PolygonMesh grid = Grid(p => p);
        int[] starts = [.. Enumerable.Range(0, grid.FaceCount).Select(f => 4 * f), (4 * grid.FaceCount) - 1, (4 * grid.FaceCount) + 2];
        int[] corners = grid.FaceVertices.ToArray();
        (int a, int b, int c, int d) = (corners[^4], corners[^3], corners[^2], corners[^1]);
        var cut = new PolygonMesh(grid.Positions.ToArray(), starts, [.. corners[..^4], a, b, c, a, c, d]);

        Assert.Null(TopologicalMirror.Twins(cut, new MeshAdjacency(cut), OffPlane(cut)));
    }

    private static double[] OffPlane(PolygonMesh mesh) => [.. mesh.Positions.ToArray().Select(p => (double)Math.Abs(p.X))];

    private static PolygonMesh Grid(Func<Vector3, Vector3> bend)
    {
        var positions = new List<Vector3>();
        var corners = new List<int>();
        for (int i = 0; i < 35; i++)
        {
            positions.Add(bend(new Vector3((i % 7) - 3, (i / 7) - 2, 0)));
            if (i % 7 < 6 && i / 7 < 4)
            {
                corners.AddRange([i, i + 1, i + 8, i + 7]);
            }
        }

        return new PolygonMesh([.. positions], [.. Enumerable.Range(0, 25).Select(f => 4 * f)], [.. corners]);
    }
}
