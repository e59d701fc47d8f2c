using System.Numerics;
using AutoPlace.Landmarks;
using AutoPlace.Rendering;
using AutoPlace.TrainingData;
using AutoPlace.TrainingData.Sampling;
using AutoPlace.TrainingData.Styling;
using Xunit;

namespace AutoPlace.Tests.TrainingData;

public sealed class SceneTests
{
    private const int Drawn = 60;

    [Fact]
    public void Head_stays_as_it_is_where_a_body_comes_to_it()
    {
        HeadSample head = TrainingHeads.Mean();
        (int bodies, int crude) = (0, 0);
        foreach (HeadSample sample in Scenes(head))
        {
            Assert.Same(head.Landmarks, sample.Landmarks);
            if (sample.Mesh.Indices.StartsWith(head.Mesh.Indices))
            {
                Assert.True(sample.Mesh.Positions[..head.Mesh.VertexCount].SequenceEqual(head.Mesh.Positions));
                Assert.All(sample.Classes[head.Classes.Length..], c => Assert.Equal(SurfaceClass.Other, c));
                bodies += sample.Mesh.VertexCount > head.Mesh.VertexCount ? 1 : 0;
            }
            else
            {
                crude++;
            }
        }

        Assert.InRange(bodies, Drawn / 4, 3 * Drawn / 4);
        Assert.InRange(crude, 1, Drawn / 3);
    }

    [Fact]
    public void Scene_depends_on_its_seed_alone()
    {
        HeadSample head = TrainingHeads.Mean();
        Assert.All(Scenes(head).Zip(Scenes(head, backwards: true)), pair =>
        {
            Assert.True(pair.First.Mesh.Positions.SequenceEqual(pair.Second.Mesh.Positions));
            Assert.True(pair.First.Mesh.Indices.SequenceEqual(pair.Second.Mesh.Indices));
        });
    }

    /// <summary>All that isn't a closer view shows all of the mesh: five in six, and those closer ones that happen to.</summary>
    [Fact]
    public void Most_survey_views_show_everything()
    {
        HeadSample head = TrainingHeads.Mean();
        var views = new SurveySampler(new SeededRandom(4, 4, 4), head.Mesh);
        const int many = 300;
        int whole = Enumerable.Range(0, many).Count(_ => ShowsAll(views.Next().View, head.Mesh.Positions));
        Assert.InRange(whole, 0.78 * many, 0.97 * many);
    }

    private static HeadSample[] Scenes(HeadSample head, bool backwards = false)
    {
        var (scene, drawn) = (new Scene(), new HeadSample[Drawn]);
        for (int i = 0; i < Drawn; i++)
        {
            int n = backwards ? Drawn - 1 - i : i;
            drawn[n] = scene.Around(head, new SeededRandom(5, 6, (ulong)n));
        }

        return drawn;
    }

    private static bool ShowsAll(OrthographicView view, ReadOnlySpan<Vector3> positions)
    {
        foreach (Vector3 p in positions)
        {
            Vector3 at = view.Project(p);
            if (at.X < 0 || at.Y < 0 || at.X > view.Size || at.Y > view.Size || MathF.Abs(at.Z) > view.HalfSize)
            {
                return false;
            }
        }

        return true;
    }
}
