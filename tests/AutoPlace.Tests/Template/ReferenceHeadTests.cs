using System.Numerics;
using AutoPlace.Geometry;
using AutoPlace.Template;
using Xunit;

namespace AutoPlace.Tests.Template;

/// <summary>What a modeller asks of the built-in template's head.</summary>
public sealed class ReferenceHeadTests
{
    private static readonly TemplateHead Template = BuiltInTemplate.Load();
    private static readonly MeshAdjacency Adjacency = new(Template.Mesh);

    [Fact]
    public void All_faces_are_quads_and_the_head_is_of_moderate_size()
    {
        Assert.InRange(Template.Mesh.VertexCount, 3000, 6000);
        for (int f = 0; f < Template.Mesh.FaceCount; f++)
        {
            Assert.Equal(4, Template.Mesh.Face(f).Length);
            Assert.Equal(4, Template.Mesh.Face(f).ToArray().Distinct().Count());
        }
    }

    [Fact]
    public void Surface_is_manifold_and_wound_the_same_way()
    {
        for (int e = 0; e < Adjacency.EdgeCount; e++)
        {
            Assert.False(Adjacency.IsNonManifoldEdge(e));
            Assert.False(Adjacency.IsWindingBroken(e));
        }
    }

    [Fact]
    public void Skin_is_open_only_at_the_neck_and_behind_the_lids()
    {
        int[] components = Adjacency.VertexComponents(out _);
        int skin = components[VertexAt("labiale_superius")];
        Assert.Equal(3, Adjacency.Borders().Count(path => components[path.Vertices[0]] == skin));
    }

    [Fact]
    public void Balls_are_closed_and_apart_from_the_skin()
    {
        int[] components = Adjacency.VertexComponents(out _);
        foreach (string part in (string[])["eyeball_left", "eyeball_right"])
        {
            int[] vertices = PartVertices(part);
            Assert.Single(vertices.Select(v => components[v]).Distinct());
            Assert.All(vertices, v => Assert.False(Adjacency.IsBorderVertex(v)));
        }
    }

    [Theory]
    [InlineData("endocanthion_left", "exocanthion_left", 26)]
    [InlineData("endocanthion_right", "exocanthion_right", 26)]
    [InlineData("lip_corner_left", "lip_corner_right", 44)]
    [InlineData("labiale_superius", "labiale_inferius", 44)]
    public void Margins_are_closed_loops_without_poles(string from, string to, int edges)
    {
        int first = VertexAt(from), last = VertexAt(to);
        bool found = false;
        foreach (int edge in Adjacency.VertexEdges(first))
        {
            VertexPath loop = EdgeLoops.Through(Adjacency, edge);
            if (loop.Vertices.Contains(last) && loop.IsClosed)
            {
                found = true;
                Assert.Equal(edges, loop.EdgeCount);
                Assert.All(loop.Vertices, v => Assert.Equal(4, Adjacency.Valence(v)));
            }
        }

        Assert.True(found, $"no closed loop from {from} to {to}");
    }

    [Theory]
    [InlineData("lid_upper_margin_left")]
    [InlineData("lid_lower_margin_left")]
    [InlineData("lip_upper_border")]
    [InlineData("lip_lower_contact")]
    public void Rows_lie_on_one_loop(string name)
    {
        JointSequence row = Template.Lattice.Rows.Single(candidate => candidate.Name == name);
        int[] vertices = [.. row.Joints.Where(joint => joint is not ("lip_corner_left" or "lip_corner_right")).Select(VertexAt)];
        Assert.Contains(
            Adjacency.VertexEdges(vertices[0]).ToArray(),
            edge => vertices.All(v => EdgeLoops.Through(Adjacency, edge).Vertices.Contains(v)));
    }

    [Fact]
    public void Lips_are_closed_but_not_joined()
    {
        int upper = VertexAt("lip_upper_contact"), lower = VertexAt("lip_lower_contact");
        Assert.NotEqual(upper, lower);

        // A hair: a thousandth of an interocular distance is 0.06 mm.
        Assert.InRange(Vector3.Distance(Template.Mesh.Positions[upper], Template.Mesh.Positions[lower]), 0, 0.0015f);
    }

    [Fact]
    public void Poles_are_few_and_never_worse_than_five()
    {
        int[] skin = PartVertices("skin");
        Assert.All(skin, v => Assert.InRange(Adjacency.Valence(v), Adjacency.IsBorderVertex(v) ? 2 : 3, 5));
        Assert.InRange(skin.Count(v => !Adjacency.IsBorderVertex(v) && Adjacency.Valence(v) != 4), 1, 60);
    }

    [Fact]
    public void No_quad_of_the_skin_is_a_sliver_or_turned_over()
    {
        // Degrees; the quads between lip border and contact line narrow towards the corner of the mouth.
        const double SmallestAngle = 8, LargestAngle = 175;
        for (int f = 0; f < Template.Mesh.FaceCount; f++)
        {
            if (Template.FaceParts[f] == "skin")
            {
                Vector3[] c = [.. Template.Mesh.Face(f).ToArray().Select(v => Template.Mesh.Positions[v])];
                for (int i = 0; i < 4; i++)
                {
                    Vector3 a = Vector3.Normalize(c[(i + 3) % 4] - c[i]), b = Vector3.Normalize(c[(i + 1) % 4] - c[i]);
                    double degrees = Math.Acos(Math.Clamp(Vector3.Dot(a, b), -1, 1)) * 180 / Math.PI;
                    Assert.True(degrees is > SmallestAngle and < LargestAngle, $"quad {f} at {c[i]} has an angle of {degrees:F0} degrees");
                }
            }
        }
    }

    [Fact]
    public void Lids_clear_the_ball()
    {
        int[] ball = PartVertices("eyeball_left");
        Vector3 centre = (Vector3)Template.Landmarks["eye_centre_left"];
        float radius = ball.Where(v => Template.Mesh.Positions[v].Z < centre.Z).Max(v => Vector3.Distance(Template.Mesh.Positions[v], centre));
        int[] lids = [.. Template.Lattice.Rows.Where(row => row.Name is "lid_upper_margin_left" or "lid_lower_margin_left").SelectMany(row => row.Joints).Select(VertexAt)];
        Assert.All(lids, v => Assert.True(Vector3.Distance(Template.Mesh.Positions[v], centre) > radius - 0.005f));
    }

    [Theory]
    [InlineData("skin", "mouth_bag", "eyeball_left", "eyeball_right")]
    [InlineData("mouth_bag", "tongue", "teeth_upper", "teeth_lower")]
    [InlineData("mouth_bag", "tongue", "gums_upper", "gums_lower")]
    public void Nothing_passes_through_anything_else(params string[] parts)
    {
        // Teeth stand in gums and touch their neighbours: those are let off.
        TriangleMesh all = Template.Mesh.Triangulate(out int[] faces);
        int[] triangles = [.. Enumerable.Range(0, all.TriangleCount).Where(t => parts.Contains(Template.FaceParts[faces[t]])).OrderBy(t => Low(all, t).X)];
        for (int i = 0; i < triangles.Length; i++)
        {
            Vector3 high = High(all, triangles[i]);
            for (int j = i + 1; j < triangles.Length && Low(all, triangles[j]).X <= high.X; j++)
            {
                string part = Template.FaceParts[faces[triangles[i]]];
                bool teeth = part.StartsWith("teeth", StringComparison.Ordinal) && part == Template.FaceParts[faces[triangles[j]]];
                Assert.False(!teeth && Cross(all, triangles[i], triangles[j]), $"quads {faces[triangles[i]]} and {faces[triangles[j]]} cross at {all.Corners(triangles[i]).A}");
            }
        }
    }

    // Two triangles without a common corner cross when an edge of one passes through the other.
    private static bool Cross(TriangleMesh mesh, int s, int t)
    {
        ReadOnlySpan<int> a = mesh.Indices.Slice(3 * s, 3), b = mesh.Indices.Slice(3 * t, 3);
        Vector3 lowS = Low(mesh, s), highS = High(mesh, s), lowT = Low(mesh, t), highT = High(mesh, t);
        if (a.ContainsAny(b) || highS.Y < lowT.Y || highT.Y < lowS.Y || highS.Z < lowT.Z || highT.Z < lowS.Z)
        {
            return false;
        }

        for (int k = 0; k < 3; k++)
        {
            if (Pierces(mesh, a[k], a[(k + 1) % 3], b) || Pierces(mesh, b[k], b[(k + 1) % 3], a))
            {
                return true;
            }
        }

        return false;
    }

    private static bool Pierces(TriangleMesh mesh, int from, int to, ReadOnlySpan<int> triangle)
    {
        Vector3d p = (Vector3d)mesh.Positions[from], q = (Vector3d)mesh.Positions[to];
        Vector3d a = (Vector3d)mesh.Positions[triangle[0]], b = (Vector3d)mesh.Positions[triangle[1]], c = (Vector3d)mesh.Positions[triangle[2]];
        if (Volume(a, b, c, p) * Volume(a, b, c, q) >= 0)
        {
            return false;
        }

        double u = Volume(p, q, a, b), v = Volume(p, q, b, c), w = Volume(p, q, c, a);
        return (u > 0 && v > 0 && w > 0) || (u < 0 && v < 0 && w < 0);

        static double Volume(Vector3d a, Vector3d b, Vector3d c, Vector3d d) => Vector3d.Dot(a - d, Vector3d.Cross(b - d, c - d));
    }

    private static Vector3 Low(TriangleMesh mesh, int triangle)
    {
        (Vector3 a, Vector3 b, Vector3 c) = mesh.Corners(triangle);
        return Vector3.Min(a, Vector3.Min(b, c));
    }

    private static Vector3 High(TriangleMesh mesh, int triangle)
    {
        (Vector3 a, Vector3 b, Vector3 c) = mesh.Corners(triangle);
        return Vector3.Max(a, Vector3.Max(b, c));
    }

    private static int[] PartVertices(string part)
    {
        return [.. Enumerable.Range(0, Template.Mesh.FaceCount).Where(f => Template.FaceParts[f] == part).SelectMany(f => Template.Mesh.Face(f).ToArray()).Distinct()];
    }

    // The vertex under a joint that stands on one.
    private static int VertexAt(string joint)
    {
        Vector3 point = (Vector3)Template.Lattice.Joints.Single(candidate => candidate.Name == joint).SkinPoint!.Value;
        int nearest = Enumerable.Range(0, Template.Mesh.VertexCount).MinBy(v => Vector3.Distance(Template.Mesh.Positions[v], point));
        Assert.InRange(Vector3.Distance(Template.Mesh.Positions[nearest], point), 0, 1e-3f);
        return nearest;
    }
}
