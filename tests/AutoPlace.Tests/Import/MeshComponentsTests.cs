using System.Numerics;
using AutoPlace.Geometry;
using AutoPlace.Import;
using CsCheck;
using Xunit;

namespace AutoPlace.Tests.Import;

public sealed class MeshComponentsTests
{
    [Fact]
    public void Components_are_numbered_by_their_first_faces()
    {
        PolygonMesh ball = TestMeshes.Sphere(4, 5);
        PolygonMesh both = TestMeshes.Mesh(
            [.. ball.Positions, .. ball.Positions],
            [.. Enumerable.Range(0, 2 * ball.FaceCount).Select(i =>
                ball.Face(i / 2).ToArray().Select(v => v + (i % 2 * ball.VertexCount)).ToArray())]);
        MeshComponents components = MeshComponents.Of(both);

        Assert.Equal(2, components.Count);
        Assert.Equal([ball.FaceCount, ball.FaceCount], components.FaceCounts.ToArray());
        Assert.Equal([0, 1], components.FirstFaces.ToArray());
        Assert.Equal(Enumerable.Range(0, both.FaceCount).Select(i => i % 2), components.FaceComponents.ToArray());
    }

    [Fact]
    public void Faces_are_together_exactly_if_a_walk_over_shared_vertices_within_the_part_leads_from_one_to_the_other() =>
        Gen.Select(Gen.Int[0, 30].Array[3, 90], Gen.Int[0, 2].Array[30, 30]).Sample(
            (corners, partOf) =>
            {
                var faces = new List<int[]>();
                for (int c = 0; c + 2 < corners.Length; c += 3)
                {
                    faces.Add(corners[c..(c + 3)]);
                }

                PolygonMesh mesh = TestMeshes.Mesh([.. Enumerable.Repeat(Vector3.Zero, 31)], faces);
                int[] parts = [.. faces.Select((_, f) => partOf[f])];
                var scan = new HeadScan
                {
                    Source = "",
                    Sha256 = "",
                    Format = MeshFormat.Obj,
                    MetresPerUnit = null,
                    Mesh = mesh,
                    Parts = [new("a", null), new("b", null), new("c", null)],
                    FaceParts = parts,
                };

                AssertComponents(faces, (f, g) => faces[f].Intersect(faces[g]).Any(), MeshComponents.Of(mesh));
                AssertComponents(
                    faces, (f, g) => parts[f] == parts[g] && faces[f].Intersect(faces[g]).Any(), MeshComponents.OfParts(scan));
            },
            iter: 200);

    private static void AssertComponents(List<int[]> faces, Func<int, int, bool> touch, MeshComponents components)
    {
        int[] label = [.. Enumerable.Repeat(-1, faces.Count)];
        int count = 0;
        for (int start = 0; start < faces.Count; start++)
        {
            if (label[start] >= 0)
            {
                continue;
            }

            var waiting = new Stack<int>([start]);
            label[start] = count;
            while (waiting.TryPop(out int f))
            {
                for (int g = 0; g < faces.Count; g++)
                {
                    if (label[g] < 0 && touch(f, g))
                    {
                        label[g] = count;
                        waiting.Push(g);
                    }
                }
            }

            count++;
        }

        Assert.Equal(count, components.Count);
        Assert.Equal(label, components.FaceComponents.ToArray());
        Assert.Equal(faces.Count, components.FaceCounts.ToArray().Sum());
    }
}
