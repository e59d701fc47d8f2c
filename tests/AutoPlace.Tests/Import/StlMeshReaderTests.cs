using System.Buffers.Binary;
using System.Text;
using AutoPlace.Geometry;
using AutoPlace.Import;
using Xunit;

namespace AutoPlace.Tests.Import;

public sealed class StlMeshReaderTests
{
    private const string Facet = "facet normal 0 0 1\nouter loop\nvertex 0 0 0\nvertex 1 0 0\nvertex 0 1 0\nendloop\nendfacet\n";

    private static readonly TriangleMesh Ball = TestMeshes.Sphere(6, 8).Triangulate(out _);

    [Fact]
    public void Text_that_ends_between_facets_is_refused()
    {
        byte[] good = MeshText.StlText(TestMeshes.Sphere(4, 5).Triangulate(out _));
        string text = Encoding.ASCII.GetString(good);
        int end = text.IndexOf("facet", text.IndexOf("endfacet", StringComparison.Ordinal) + 8, StringComparison.Ordinal);

        var fault = Assert.Throws<MeshFormatException>(() => TestMeshes.Read(good[..end], "head.stl"));

        Assert.Equal("the file ends within a solid", fault.Reason);
    }

    [Fact]
    public void Binary_is_judged_by_length_whatever_the_title_says()
    {
        foreach (string title in (string[])["", "solid", "solid facet normal 0 0 0\nouter loop\n", "Kaydara FBX Binary"])
        {
            Assert.Equal(Ball.TriangleCount, Triangles(MeshText.StlBinary(Ball, title), "a.stl"));
        }
    }

    [Fact]
    public void Bytes_after_the_last_triangle_are_passed_over() =>
        Assert.Equal(Ball.TriangleCount, Triangles([.. MeshText.StlBinary(Ball), 1, 2, 3], "a.stl"));

    [Fact]
    public void Keywords_are_read_in_any_case_and_solids_become_parts()
    {
        string text = "SOLID Left eye\n" + Facet.ToUpperInvariant() + "ENDSOLID Left eye\nsolid right\n" + Facet + "endsolid\n";
        HeadScan scan = TestMeshes.Read(Encoding.ASCII.GetBytes(text), "a.stl");

        Assert.Equal([new("Left eye", null), new("right", null)], scan.Parts);
        Assert.Equal([0, 1], scan.FaceParts);
        Assert.Equal(6, scan.Mesh.VertexCount);
    }

    [Fact]
    public void Names_that_are_taken_get_a_free_number()
    {
        string[] names = ["a", "a_2", "a", "a", "a_2", "", ""];
        string text = string.Concat(names.Select(n => $"solid {n}\n{Facet}endsolid {n}\n"));

        Assert.Equal(
            ["a", "a_2", "a_3", "a_4", "a_2_2", "mesh", "mesh_2"],
            TestMeshes.Read(Encoding.ASCII.GetBytes(text), "a.stl").Parts.Select(p => p.Name));
    }

    [Fact]
    public void Zeros_of_either_sign_are_the_same_place()
    {
        string text = "solid a\n" + Facet + Facet.Replace("0 0 0", "-0 0.0 -0e0", StringComparison.Ordinal)
            .Replace("0 1 0", "0 -1 0", StringComparison.Ordinal) + "endsolid\n";

        Assert.Equal(4, TestMeshes.Read(Encoding.ASCII.GetBytes(text), "a.stl").Mesh.VertexCount);
    }

    [Theory]
    [InlineData("solid a\nfacet normal 0 0 1\nouter loop\nvertex 0 0 0\n", "line 5", "the file ends within a facet")]
    [InlineData("solid a\nfacet normal 0 0 1\nouter loop\nvertex 0 0", "line 4", "the file ends within a vertex")]
    [InlineData("solid a\nfacet normal 0 0 1\nouter loop\nvertex 0 0 nan\n", "line 4", "'nan' is not a finite number")]
    [InlineData("solid a\nfacet normal 0 0 1\nouter loop\nvertex 0 0 0\nendfacet\n", "line 5", "'endfacet' where a vertex should be")]
    [InlineData("solid a\n" + Facet + "what\n", "line 9", "'what' where a facet should begin or end")]
    [InlineData("solid a\nendsolid a\n", null, "no faces")]
    public void Faulty_lines_are_named(string text, string? element, string reason)
    {
        var fault = Assert.Throws<MeshFormatException>(() => TestMeshes.Read(Encoding.ASCII.GetBytes(text), "a.stl"));

        Assert.Equal(element, fault.Element);
        Assert.Equal(reason, fault.Reason);
    }

    [Fact]
    public void Faulty_binary_files_name_the_triangle()
    {
        byte[] bytes = MeshText.StlBinary(Ball);
        var truncated = Assert.Throws<MeshFormatException>(() => TestMeshes.Read(bytes[..^51], "a.stl"));
        Assert.Equal("header", truncated.Element);
        Assert.Equal($"{Ball.TriangleCount} triangles claimed, the file holds {Ball.TriangleCount - 2}", truncated.Reason);

        BinaryPrimitives.WriteSingleLittleEndian(bytes.AsSpan(84 + (50 * 7) + 12 + 16), float.NaN);
        Assert.Equal("triangle 7", Assert.Throws<MeshFormatException>(() => TestMeshes.Read(bytes, "a.stl")).Element);

        byte[] claiming = new byte[1000];
        BinaryPrimitives.WriteInt32LittleEndian(claiming.AsSpan(80), 10_000_000);
        Assert.Equal("header", Assert.Throws<MeshFormatException>(() => TestMeshes.Read(claiming, "a.stl")).Element);
        Assert.Equal("header", Assert.Throws<MeshFormatException>(() => TestMeshes.Read(new byte[83], "a.stl")).Element);
        Assert.Equal("no faces", Assert.Throws<MeshFormatException>(() => TestMeshes.Read(new byte[84], "a.stl")).Reason);
    }

    private static int Triangles(byte[] bytes, string name) =>
        TestMeshes.Read(bytes, name).Mesh.Triangulate(out _).TriangleCount;
}
