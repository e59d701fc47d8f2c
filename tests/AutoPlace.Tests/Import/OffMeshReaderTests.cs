using System.Numerics;
using System.Text;
using AutoPlace.Import;
using Xunit;

namespace AutoPlace.Tests.Import;

public sealed class OffMeshReaderTests
{
    private const string Rows = "0 0 0\n1 0 0\n1 1 0\n0 1 0\n";

    [Theory]
    [InlineData("OFF\n4 1 4\n" + Rows + "4 0 1 2 3\n")]
    [InlineData("OFF 4 1 4\n" + Rows + "4 0 1 2 3\n")]
    [InlineData("OFF\n4 1\n" + Rows + "4 0 1 2 3")]
    [InlineData("# made by a test\n\nOFF # kind\n# counts\n4 1 0\n\n" + Rows + "\n4 0 1 2 3 255 0 0 # red\n")]
    [InlineData("4 1 0\n" + Rows + "4 0 1 2 3\n")]
    [InlineData("COFF\n4 1 0\n0 0 0 1 0 0 1\n1 0 0 1 0 0 1\n1 1 0 0 0 0 1\n0 1 0 1 1 1 1\n4 0 1 2 3 7\n")]
    [InlineData("NOFF\n4 1 0\n0 0 0 0 0 1\n1 0 0 0 0 1\n1 1 0 0 0 1\n0 1 0 0 0 1\n4 0 1 2 3\n")]
    [InlineData("STCNOFF\r\n4 1 0\r\n0 0 0 0 0 1 9 9 9 9 0 0\r\n1 0 0\r\n1 1 0\r\n0 1 0\r\n4 0 1 2 3\r\n")]
    public void Headers_of_every_form_are_read(string text)
    {
        HeadScan scan = Read(text);

        Assert.Equal([Vector3.Zero, Vector3.UnitX, new(1, 1, 0), Vector3.UnitY], scan.Mesh.Positions.ToArray());
        Assert.Equal([0, 1, 2, 3], scan.Mesh.Face(0).ToArray());
    }

    [Fact]
    public void Points_and_edges_are_dropped_and_counted()
    {
        HeadScan scan = Read("OFF\n4 4 0\n" + Rows + "0\n1 2\n2 0 1\n4 0 1 2 3\n");

        Assert.Equal(1, scan.Mesh.FaceCount);
        Assert.Equal(3, scan.DroppedFaces);
    }

    [Theory]
    [InlineData("OFF BINARY\n", "line 1", "binary OFF can't be read; export glTF or text OFF instead")]
    [InlineData("4OFF\n1 1 1\n", "line 1", "4OFF (more than three dimensions) can't be read; export glTF instead")]
    [InlineData("nOFF\n3\n1 1 1\n", "line 1", "nOFF (more than three dimensions) can't be read; export glTF instead")]
    [InlineData("OFF\nfour 1 0\n", "line 2", "'four' is not a number of vertices")]
    [InlineData("OFF\n4\n", "line 3", "'' is not a number of faces")]
    [InlineData("OFF\n4 -1 0\n", "line 2", "'-1' is not a number of faces")]
    [InlineData("OFF\n10000000 1 0\n" + Rows, "line 2", "10000000 vertices and 1 faces don't fit the 27 bytes that follow")]
    [InlineData("OFF\n1 10000000 0\n" + Rows, "line 2", "1 vertices and 10000000 faces don't fit the 27 bytes that follow")]
    [InlineData("OFF\n4 1 0\n0 0 0\n1 0\n1 1 0\n0 1 0\n4 0 1 2 3\n", "line 4", "vertex 1 with 2 coordinates")]
    [InlineData("OFF\n4 1 0\n0 0 0\n1 0 NaN\n1 1 0\n0 1 0\n4 0 1 2 3\n", "line 4", "'NaN' is not a finite number")]
    [InlineData("OFF\n4 2 0\n" + Rows + "4 0 1 2 3\n", "face 1 of 2", "the file ends before it")]
    [InlineData("OFF\n4 1 0\n" + Rows + "4 0 1 2\n", "line 7", "face 0 with 3 of 4 corners")]
    [InlineData("OFF\n4 1 0\n" + Rows + "3 0 1 4\n", "line 7", "vertex 4 of 4 vertices")]
    [InlineData("OFF\n4 1 0\n" + Rows + "3 0 1 -1\n", "line 7", "vertex -1 of 4 vertices")]
    [InlineData("OFF\n4 1 0\n" + Rows + "three\n", "line 7", "'three' is not a number of corners")]
    [InlineData("OFF\n4 0 0\n" + Rows, null, "no faces")]
    public void Faulty_lines_are_named(string text, string? element, string reason)
    {
        var fault = Assert.Throws<MeshFormatException>(() => Read(text));

        Assert.Equal(element, fault.Element);
        Assert.Equal(reason, fault.Reason);
    }

    private static HeadScan Read(string text) => TestMeshes.Read(Encoding.ASCII.GetBytes(text), "head.off");
}
