using AutoPlace.Geometry;
using AutoPlace.Import;
using CsCheck;
using Xunit;

namespace AutoPlace.Tests.Import;

public sealed class HalfEdgesTests
{
    [Fact]
    public void Opposites_are_those_of_a_search_over_all_pairs() => Gen.Int[0, 8].Array[3, 120].Sample(
        numbers =>
        {
            // Random polygons of three or four different vertices; few vertices, so that edges meet often.
            var faces = new List<int[]>();
            for (int i = 0; i + 3 < numbers.Length; i += 4)
            {
                int[] face = [.. numbers[i..(i + 4)].Distinct()];
                if (face.Length > 2)
                {
                    faces.Add(face);
                }
            }

            int[] starts = [0, .. faces.Select((_, f) => faces.Take(f + 1).Sum(face => face.Length))];
            int[] corners = [.. faces.SelectMany(face => face)];
            int[] ends = [.. faces.SelectMany(face => face.Skip(1).Append(face[0]))];
            int[] opposites = HalfEdges.Opposites(starts, corners, 9);
            for (int h = 0; h < corners.Length; h++)
            {
                int[] others = [.. Enumerable.Range(0, corners.Length).Where(g => g != h
                    && Math.Min(corners[g], ends[g]) == Math.Min(corners[h], ends[h])
                    && Math.Max(corners[g], ends[g]) == Math.Max(corners[h], ends[h]))];
                int expected = others.Length switch
                {
                    0 => HalfEdges.Border,
                    1 when corners[others[0]] == ends[h] => others[0],
                    _ => HalfEdges.NonManifold,
                };
                Assert.Equal(expected, opposites[h]);
            }
        },
        iter: 300);

    [Fact]
    public void Many_faces_at_one_vertex_are_matched()
    {
        PolygonMesh ball = TestMeshes.Sphere(3, 500);
        int[] opposites = HalfEdges.Opposites(ball.FaceStarts, ball.FaceVertices, ball.VertexCount);

        Assert.DoesNotContain(HalfEdges.Border, opposites);
        Assert.DoesNotContain(HalfEdges.NonManifold, opposites);
        Assert.All(Enumerable.Range(0, opposites.Length), h => Assert.Equal(h, opposites[opposites[h]]));
    }
}
