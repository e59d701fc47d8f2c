using System.Runtime.CompilerServices;
using AutoPlace.Geometry;
using AutoPlace.Import;
using Xunit;

namespace AutoPlace.Tests.Import;

/// <summary>
/// Heads of others as package registries carry them, fetched by tools/fetch-test-heads.sh, which names packages, versions
/// and licences. Numbers of vertices and faces are those of the packages' files, counted apart from this reader
/// (statement by statement in the text).
/// </summary>
public sealed class RegistryHeadsTests
{
    private const string FolderVariable = "AUTOPLACE_TEST_HEADS";

    /// <summary>npm mind-ar 1.2.5: a generic face of 468 vertices; no quads ever, so its triangles stay.</summary>
    [Fact]
    public void Canonical_face_stays_triangles()
    {
        HeadScan scan = Read("canonical-face.obj");

        AssertCounts(scan, vertices: 468, triangles: 898);
        Assert.Equal(898, scan.Mesh.FaceCount);
    }

    /// <summary>Debian libcgal-demo 5.5.1-2: triangles in the file, cut from quads as their order shows.</summary>
    [Theory]
    [InlineData("man.off", 17495, 34986)]
    [InlineData("head.off", 1487, 2918)]
    public void Cut_quads_are_put_together(string name, int vertices, int triangles)
    {
        HeadScan scan = Read(name);

        AssertCounts(scan, vertices, triangles);
        Assert.InRange(Quads(scan.Mesh), 0.45 * triangles, 0.5 * triangles);

        // In a mesh of quads most vertices have four faces, in one of triangles six (Euler's formula).
        int[] valences = new int[scan.Mesh.VertexCount];
        foreach (int v in scan.Mesh.FaceVertices)
        {
            valences[v]++;
        }

        Assert.InRange(valences.Count(n => n == 4), 0.8 * vertices, vertices);
        HeadScan authored = Read(name, new MeshReadOptions { AsAuthored = true });
        Assert.Equal(triangles, authored.Mesh.FaceCount);
    }

    /// <summary>Debian assimp-testmodels 5.2.5~ds0-1, human.zae written as OBJ: a body of quads with eyeballs.</summary>
    [Fact]
    public void Human_keeps_its_quads()
    {
        HeadScan scan = Read("human.obj");

        AssertCounts(scan, vertices: 14444, triangles: 28796);
        Assert.Equal(14398, scan.Mesh.FaceCount);
        Assert.Equal(14398, Quads(scan.Mesh));
        Assert.Equal(2, scan.Parts.Count);
        Assert.Contains(scan.Parts, p => p.Name.Contains("eyes", StringComparison.Ordinal));
    }

    /// <summary>Debian inventor-data 2.1.5-10+dfsg-2, rikk.iv: a laser scan, 40 x 40 points.</summary>
    [Fact]
    public void Scanned_grid_is_one_open_sheet_of_quads()
    {
        HeadScan scan = Read("rikk.off");

        AssertCounts(scan, vertices: 1600, triangles: 2 * 1521);
        Assert.Equal(1521, Quads(scan.Mesh));
        Assert.Equal(1, MeshComponents.Of(scan.Mesh).Count);
    }

    private static void AssertCounts(HeadScan scan, int vertices, int triangles)
    {
        Assert.Equal(vertices, scan.Mesh.VertexCount);
        Assert.Equal(triangles, scan.Mesh.Triangulate(out _).TriangleCount);
        Assert.Equal(0, scan.DroppedFaces);
    }

    private static int Quads(PolygonMesh mesh)
    {
        int quads = 0;
        for (int f = 0; f < mesh.FaceCount; f++)
        {
            quads += mesh.Face(f).Length == 4 ? 1 : 0;
        }

        return quads;
    }

    internal static HeadScan Read(string name, MeshReadOptions? options = null)
    {
        string folder = Environment.GetEnvironmentVariable(FolderVariable) is { Length: > 0 } named
            ? named
            : Path.Combine(Path.GetDirectoryName(ThisFile())!, "../../../artifacts/test-heads");
        string path = Path.Combine(folder, name);
        Assert.SkipUnless(
            File.Exists(path), $"{name} isn't there: run tools/fetch-test-heads.sh, or name its folder in {FolderVariable}.");
        return MeshReader.Read(path, options);
    }

    private static string ThisFile([CallerFilePath] string path = "") => path;
}
