using System.Numerics;
using System.Text;
using AutoPlace.Geometry;
using AutoPlace.Import;
using Xunit;

namespace AutoPlace.Tests.Import;

public sealed class ObjMeshReaderTests
{
    private const string Square = "v 0 0 0\nv 1 0 0\nv 1 1 0\nv 0 1 0\n";

    [Theory]
    [InlineData("f 1 2 3 4")]
    [InlineData("f 1/1 2/2 3/3 4/4")]
    [InlineData("f 1//1 2//2 3//3 4//4")]
    [InlineData("f 1/1/1 2/2/2 3/3/3 4/4/4")]
    [InlineData("f -4 -3 -2 -1")]
    [InlineData("f -4/-4/-4 -3/-3/-3 3 -1//-1")]
    [InlineData("f 1 2 \\\n3 4")]
    [InlineData("f 1 2 \\\r\n  3 4 # the square")]
    [InlineData("\tf\t1  2\t3 4  \t")]
    [InlineData("fo 1 2 3 4")]
    public void Face_corners_of_every_form_are_read(string face)
    {
        HeadScan scan = Read(Square + face + "\n");

        Assert.Equal([0, 1, 2, 3], scan.Mesh.Face(0).ToArray());
        Assert.Equal(1, scan.Mesh.FaceCount);
    }

    [Theory]
    [InlineData("\n")]
    [InlineData("\r\n")]
    [InlineData("\r")]
    public void Line_ends_of_every_kind_are_read(string end)
    {
        string text = $"\uFEFF# head\n\n{Square}vn 0 0 1\nvt 0 0\ns off\nl 1 2\np 1\nf 1 2 3 4".Replace("\n", end, StringComparison.Ordinal);

        Assert.Equal([0, 1, 2, 3], Read(text).Mesh.Face(0).ToArray());
    }

    [Fact]
    public void Numbers_of_every_form_are_read()
    {
        HeadScan scan = Read(
            "v 1e-3 -2.5E+2 +3.25\nv .5 5. -0\nv 123456789012345678901 1.17549435e-38 0.1 0.2 0.3 0.4\nf 1 2 3\n");

        Assert.Equal(new Vector3(1e-3f, -2.5e2f, 3.25f), scan.Mesh.Positions[0]);
        Assert.Equal(new Vector3(0.5f, 5f, 0f), scan.Mesh.Positions[1]);
        Assert.Equal(new Vector3(123456789012345678901f, 1.17549435e-38f, 0.1f), scan.Mesh.Positions[2]);
    }

    [Fact]
    public void Objects_and_materials_make_parts_with_names_of_their_own()
    {
        HeadScan scan = Read(Square
            + "o Head\nusemtl Skin\nf 1 2 3\nusemtl Lip gloss\nf 1 3 4\no Eye\nf 2 3 4\no Head\nusemtl Skin\nf 1 2 4\ng\nf 1 2 3\n");

        Assert.Equal(
            [new("Head", "Skin"), new("Head_2", "Lip gloss"), new("Eye", "Lip gloss"), new("mesh", "Skin")],
            scan.Parts);
        Assert.Equal([0, 1, 2, 0, 3], scan.FaceParts);
    }

    [Fact]
    public void Repeated_corners_are_left_out_and_what_remains_too_small_is_counted()
    {
        HeadScan scan = Read(Square + "v 5 5 5\nf 1 2 2 3\nf 1 1 2\nf 3 4 5 3\nf 3 3 3 3\nf 1 2\n");

        Assert.Equal(2, scan.Mesh.FaceCount);
        Assert.Equal([0, 1, 2], scan.Mesh.Face(0).ToArray());
        Assert.Equal([2, 3, 4], scan.Mesh.Face(1).ToArray());
        Assert.Equal(3, scan.DroppedFaces);
    }

    [Fact]
    public void Polygons_of_any_size_are_kept()
    {
        var text = new StringBuilder();
        for (int i = 0; i < 100; i++)
        {
            text.Append(System.Globalization.CultureInfo.InvariantCulture, $"v {i} {i * i} 0\n");
        }

        text.Append('f');
        for (int i = 1; i <= 100; i++)
        {
            text.Append(System.Globalization.CultureInfo.InvariantCulture, $" {i}");
        }

        Assert.Equal(Enumerable.Range(0, 100), Read(text.ToString()).Mesh.Face(0).ToArray());
    }

    [Fact]
    public void Vertices_without_a_face_are_left_out()
    {
        HeadScan scan = Read("v 9 9 9\n" + Square + "v 8 8 8\nf 2 3 4 5\n");

        Assert.Equal(4, scan.Mesh.VertexCount);
        Assert.Equal([0, 1, 2, 3], scan.Mesh.Face(0).ToArray());
        Assert.Equal(6, TestMeshes.Read(
            Encoding.UTF8.GetBytes("v 9 9 9\n" + Square + "v 8 8 8\nf 2 3 4 5\n"), "a.obj", new() { AsAuthored = true }).Mesh.VertexCount);
    }

    [Fact]
    public void Seams_close_and_touching_surfaces_stay_apart()
    {
        // Two sheets side by side, each with its own copy of the vertices between them.
        HeadScan seam = Read(Square + "v 1 0 0\nv 2 0 0\nv 2 1 0\nv 1 1 -0\nf 1 2 3 4\nf 5 6 7 8\n");
        Assert.Equal(6, seam.Mesh.VertexCount);

        // Two closed tetrahedra that touch at the origin.
        HeadScan touching = Read(
            "v 0 0 0\nv 1 0 0\nv 0 1 0\nv 0 0 1\nv 0 0 0\nv -1 0 0\nv 0 -1 0\nv 0 0 -1\n"
            + "f 1 3 2\nf 1 2 4\nf 1 4 3\nf 2 3 4\nf 5 6 7\nf 5 8 6\nf 5 7 8\nf 6 8 7\n");
        Assert.Equal(8, touching.Mesh.VertexCount);
        Assert.Equal(2, MeshComponents.Of(touching.Mesh).Count);
    }

    [Fact]
    public void Cut_quads_are_put_together_but_not_beside_polygons()
    {
        PolygonMesh sheet = TestMeshes.Sheet(12, 10);
        var triangles = new List<int[]>();
        for (int f = 0; f < sheet.FaceCount; f++)
        {
            int[] q = sheet.Face(f).ToArray();
            triangles.Add([q[0], q[1], q[2]]);
            triangles.Add([q[0], q[2], q[3]]);
        }

        byte[] cut = MeshText.Obj(TestMeshes.Mesh([.. sheet.Positions], triangles));
        TestMeshes.AssertSame(sheet, TestMeshes.Read(cut, "a.obj").Mesh);

        byte[] withPentagon = [.. cut, .. "f 1 2 3 17 14\n"u8];
        Assert.Equal(triangles.Count + 1, TestMeshes.Read(withPentagon, "a.obj").Mesh.FaceCount);
    }

    [Theory]
    [InlineData("v 0 0\n", "line 1", "vertex with 2 coordinates")]
    [InlineData("v 0 0 zero\n", "line 1", "'zero' is not a finite number")]
    [InlineData("v 0 nan 0\n", "line 1", "'nan' is not a finite number")]
    [InlineData("v 0 0 0\nv 0 -inf 0\n", "line 2", "'-inf' is not a finite number")]
    [InlineData("v 0 0 1e39\n", "line 1", "'1e39' is not a finite number")]
    [InlineData("v 0 0 0\nv 1 0 0\n\n# x\nf 1 2\n", null, "no faces but 1 degenerate ones")]
    [InlineData(Square + "f 1 2 5\n", "line 5", "vertex 5 of 4 vertices")]
    [InlineData(Square + "f 1 2 0\n", "line 5", "vertex 0 of 4 vertices")]
    [InlineData(Square + "f 1 2 -5\n", "line 5", "vertex -5 of 4 vertices")]
    [InlineData(Square + "f 1 2 99999999999\n", "line 5", "vertex 99999999999 of 4 vertices")]
    [InlineData(Square + "f 1 2 x\n", "line 5", "'x' is not a face corner")]
    [InlineData(Square + "f 1 2 3.5\n", "line 5", "'3.5' is not a face corner")]
    [InlineData(Square, null, "no faces")]
    [InlineData(Square + "f 1 1 1\n", null, "no faces but 1 degenerate ones")]
    public void Faulty_lines_are_named(string text, string? element, string reason)
    {
        var fault = Assert.Throws<MeshFormatException>(() => Read(text));

        Assert.Equal("head.obj", fault.File);
        Assert.Equal(element, fault.Element);
        Assert.Equal(reason, fault.Reason);
    }

    [Fact]
    public void A_face_may_come_before_its_vertices() =>
        Assert.Equal([0, 1, 2, 3], Read("f 1 2 3 4\n" + Square).Mesh.Face(0).ToArray());

    private static HeadScan Read(string text) => TestMeshes.Read(Encoding.UTF8.GetBytes(text), "head.obj");
}
