using System.Numerics;
using AutoPlace.Geometry;
using AutoPlace.Import;
using CsCheck;
using Xunit;

namespace AutoPlace.Tests.Import;

public sealed class TrianglePairingTests
{
    /// <summary>How exporters cut the quad 0 1 2 3.</summary>
    private static readonly int[][] Cuts =
    [
        [0, 1, 2, 0, 2, 3],
        [0, 1, 2, 2, 3, 0],
        [0, 1, 3, 1, 2, 3],
        [0, 1, 3, 3, 1, 2],
        [1, 2, 0, 0, 2, 3],
    ];

    public static TheoryData<int> CutNumbers => [.. Enumerable.Range(0, Cuts.Length)];

    [Theory]
    [MemberData(nameof(CutNumbers))]
    public void Quads_come_back_whatever_way_an_exporter_cuts_them(int cut)
    {
        foreach (PolygonMesh mesh in (PolygonMesh[])[TestMeshes.Sheet(17, 13), TestMeshes.Sphere(12, 16)])
        {
            Assert.Equal(1, Recovered(mesh, (_, _) => Cuts[cut], shuffle: null));
        }
    }

    [Fact]
    public void Quads_come_back_when_each_is_cut_along_its_shorter_diagonal()
    {
        PolygonMesh mesh = TestMeshes.Sphere(12, 16);
        double share = Recovered(mesh, (p, q) => Vector3.Distance(p[q[0]], p[q[2]]) < Vector3.Distance(p[q[1]], p[q[3]]) ? Cuts[0] : Cuts[2], null);

        Assert.Equal(1, share);
    }

    [Fact]
    public void Triangles_between_quads_do_not_shift_the_pairs()
    {
        // Every fourth quad of a sheet is modelled as two triangles that don't follow each other in the file.
        PolygonMesh sheet = TestMeshes.Sheet(20, 20);
        var triangles = new List<int>();
        var late = new List<int>();
        int quads = 0;
        for (int f = 0; f < sheet.FaceCount; f++)
        {
            int[] q = sheet.Face(f).ToArray();
            triangles.AddRange([q[0], q[1], q[2]]);
            if (f % 4 == 3)
            {
                late.AddRange([q[0], q[2], q[3]]);
                continue;
            }

            quads++;
            triangles.AddRange([q[0], q[2], q[3]]);
        }

        int[] all = [.. triangles, .. late];
        int[] partners = TrianglePairing.Pair(sheet.Positions, all, new int[all.Length / 3], onlyIfProven: false);
        int right = 0;
        for (int t = 0; t + 1 < triangles.Count / 3; t++)
        {
            right += partners[t] == t + 1 && all[3 * t] == all[(3 * t) + 3] && all[(3 * t) + 2] == all[(3 * t) + 4] ? 1 : 0;
        }

        Assert.Equal(quads, right);
    }

    [Fact]
    public void Most_quads_come_back_from_triangles_in_any_order()
    {
        // Nothing but shape speaks for the pairs here; a greedy choice misses some.
        Assert.InRange(Recovered(TestMeshes.Sheet(30, 30), (_, _) => Cuts[0], shuffle: new Random(3)), 0.9, 1);
        Assert.InRange(Recovered(TestMeshes.Sphere(20, 30), (_, _) => Cuts[0], shuffle: new Random(4)), 0.9, 1);
    }

    [Fact]
    public void Pairs_are_mutual_share_an_edge_and_make_convex_unfolded_quads_of_one_part() => RandomSoup.Sample(
        soup =>
        {
            int[] partners = TrianglePairing.Pair(soup.Positions, soup.Triangles, soup.Parts, onlyIfProven: false);
            Span<int> quad = stackalloc int[4];
            for (int t = 0; t < partners.Length; t++)
            {
                if (partners[t] == TrianglePairing.Alone)
                {
                    continue;
                }

                Assert.Equal(t, partners[partners[t]]);
                Assert.Equal(soup.Parts[t], soup.Parts[partners[t]]);
                TrianglePairing.Quad(soup.Triangles, t, partners[t], quad);
                Assert.Equal(4, quad.ToArray().Distinct().Count());
                AssertConvex(soup.Positions, quad);
            }
        },
        iter: 300);

    [Fact]
    public void Moved_and_scaled_meshes_are_paired_the_same() => RandomSoup.Sample(
        soup =>
        {
            // Powers of two keep every digit.
            Vector3[] scaled = [.. soup.Positions.Select(p => p * 1024)];
            Assert.Equal(
                TrianglePairing.Pair(soup.Positions, soup.Triangles, soup.Parts, onlyIfProven: false),
                TrianglePairing.Pair(scaled, soup.Triangles, soup.Parts, onlyIfProven: false));
        },
        iter: 100);

    [Fact]
    public void Triangles_of_different_parts_or_senses_stay_alone()
    {
        Vector3[] square = [default, Vector3.UnitX, new(1, 1, 0), Vector3.UnitY];

        Assert.Equal([1, 0], TrianglePairing.Pair(square, [0, 1, 2, 0, 2, 3], [0, 0], onlyIfProven: false));
        Assert.Equal([-1, -1], TrianglePairing.Pair(square, [0, 1, 2, 0, 2, 3], [0, 1], onlyIfProven: false));
        Assert.Equal([-1, -1], TrianglePairing.Pair(square, [0, 1, 2, 0, 3, 2], [0, 0], onlyIfProven: false));
        Assert.Equal([-1, -1], TrianglePairing.Pair(square, [0, 1, 2, 0, 2, 1], [0, 0], onlyIfProven: false));
    }

    [Fact]
    public void Folded_and_concave_neighbours_stay_alone()
    {
        Vector3[] folded = [default, new(1, 0, 0), new(1, 1, 0), new(1, 1, 0.9f)];
        Assert.Equal([-1, -1], TrianglePairing.Pair(folded, [0, 1, 2, 0, 2, 3], [0, 0], onlyIfProven: false));

        Vector3[] dart = [default, new(2, -1, 0), new(0.5f, 0, 0), new(2, 1, 0)];
        Assert.Equal([-1, -1], TrianglePairing.Pair(dart, [0, 1, 2, 0, 2, 3], [0, 0], onlyIfProven: false));
    }

    [Fact]
    public void The_quad_begins_at_the_first_triangles_first_corner_and_keeps_its_sense()
    {
        Span<int> quad = stackalloc int[4];
        foreach (int[] cut in Cuts)
        {
            TrianglePairing.Quad(cut, 0, 1, quad);
            Assert.Equal(cut[0], quad[0]);
            for (int i = 0; i < 4; i++)
            {
                Assert.Equal((quad[0] + i) % 4, quad[i]);
            }
        }
    }

    /// <summary>Wavy sheets with jittered vertices, cut at random, some triangles missing, in runs or shuffled.</summary>
    private static Gen<(Vector3[] Positions, int[] Triangles, int[] Parts)> RandomSoup { get; } =
        Gen.Int[0, int.MaxValue].Select(seed =>
        {
            var random = new Random(seed);
            PolygonMesh sheet = TestMeshes.Sheet(2 + random.Next(9), 2 + random.Next(9));
            Vector3[] positions = [.. sheet.Positions];
            float jitter = random.NextSingle();
            foreach (ref Vector3 p in positions.AsSpan())
            {
                p += jitter * new Vector3(random.NextSingle() - 0.5f, random.NextSingle() - 0.5f, random.NextSingle() - 0.5f);
            }

            var triangles = new List<int[]>();
            for (int f = 0; f < sheet.FaceCount; f++)
            {
                int[] q = sheet.Face(f).ToArray();
                int[] cut = Cuts[random.Next(Cuts.Length)];
                triangles.Add([q[cut[0]], q[cut[1]], q[cut[2]]]);
                triangles.Add([q[cut[3]], q[cut[4]], q[cut[5]]]);
            }

            if (random.Next(2) == 0)
            {
                int[][] mixed = [.. triangles];
                random.Shuffle(mixed);
                triangles = [.. mixed];
            }

            triangles.RemoveRange(0, random.Next(triangles.Count / 2));
            return (positions, triangles.SelectMany(t => t).ToArray(), triangles.Select((_, t) => t / 7 % 3).ToArray());
        });

    private static void AssertConvex(ReadOnlySpan<Vector3> positions, ReadOnlySpan<int> quad)
    {
        Vector3 normal = Vector3.Cross(
            positions[quad[2]] - positions[quad[0]], positions[quad[3]] - positions[quad[1]]);
        for (int i = 0; i < 4; i++)
        {
            Vector3 before = positions[quad[i]] - positions[quad[(i + 3) % 4]];
            Vector3 after = positions[quad[(i + 1) % 4]] - positions[quad[i]];
            Assert.True(Vector3.Dot(Vector3.Cross(before, after), normal) > 0);
        }
    }

    /// <summary>Share of a mesh's quads that come back after they were cut.</summary>
    private static double Recovered(PolygonMesh mesh, Func<Vector3[], int[], int[]> cutOf, Random? shuffle)
    {
        Vector3[] positions = [.. mesh.Positions];
        var triangles = new List<int[]>();
        var quads = new HashSet<string>();
        for (int f = 0; f < mesh.FaceCount; f++)
        {
            int[] q = mesh.Face(f).ToArray();
            if (q.Length == 3)
            {
                triangles.Add(q);
                continue;
            }

            quads.Add(Key(q));
            int[] cut = cutOf(positions, q);
            triangles.Add([q[cut[0]], q[cut[1]], q[cut[2]]]);
            triangles.Add([q[cut[3]], q[cut[4]], q[cut[5]]]);
        }

        int[][] ordered = [.. triangles];
        shuffle?.Shuffle(ordered);
        int[] corners = [.. ordered.SelectMany(t => t)];
        int[] partners = TrianglePairing.Pair(positions, corners, new int[ordered.Length], onlyIfProven: false);
        int right = 0;
        int[] quad = new int[4];
        for (int t = 0; t < partners.Length; t++)
        {
            if (partners[t] > t)
            {
                TrianglePairing.Quad(corners, t, partners[t], quad);
                right += quads.Contains(Key(quad)) ? 1 : 0;
            }
        }

        return (double)right / quads.Count;
    }

    private static string Key(int[] quad) => string.Join(' ', quad.Order());
}
