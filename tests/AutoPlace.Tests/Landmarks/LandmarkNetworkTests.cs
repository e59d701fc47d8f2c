using System.Numerics;
using System.Text.Json;
using AutoPlace.Landmarks;
using Xunit;

namespace AutoPlace.Tests.Landmarks;

public sealed class LandmarkNetworkTests : IDisposable
{
    private readonly LandmarkNetwork _network = LandmarkModel.Open(TestModel.Folder).CreateNetwork();

    public void Dispose() => _network.Dispose();

    /// <summary>expected.json holds what PyTorch computes for view 0 from the same weights before their export.</summary>
    [Fact]
    public void Exported_network_says_what_the_trainer_says()
    {
        using var expected = JsonDocument.Parse(File.ReadAllText(Path.Combine(TestModel.Folder, "expected.json")));
        JsonElement root = expected.RootElement;
        ViewPrediction found = _network.Predict(TestModel.View(0));
        for (int i = 0; i < LandmarkNames.All.Count; i++)
        {
            LandmarkPrediction landmark = found.Landmarks[i];
            Assert.Equal(root.GetProperty("positions")[i][0].GetDouble(), landmark.X, 0.01);
            Assert.Equal(root.GetProperty("positions")[i][1].GetDouble(), landmark.Y, 0.01);
            Assert.Equal(Math.Sqrt(2) * Math.Exp(root.GetProperty("scales")[i].GetDouble()), landmark.Sigma, 1e-3);
            Assert.Equal(Sigmoid(root.GetProperty("presence")[i].GetDouble()), landmark.Presence, 1e-4);
        }

        Assert.Equal(Sigmoid(root.GetProperty("facing").GetDouble()), found.Facing, 1e-4);
        for (int i = 0; i < root.GetProperty("cells").GetArrayLength(); i++)
        {
            int cell = root.GetProperty("cells")[i].GetInt32();
            JsonElement dense = root.GetProperty("dense")[i];
            var atlas = new Vector3(dense[0].GetSingle(), dense[1].GetSingle(), dense[2].GetSingle());
            Assert.True(Vector3.Distance(atlas, found.Dense.Atlas[cell]) < 1e-3f);
            double[] exponentials = [.. root.GetProperty("classes")[i].EnumerateArray().Select(c => Math.Exp(c.GetDouble()))];
            for (int c = 0; c < DenseMap.ClassCount; c++)
            {
                Assert.Equal(exponentials[c] / exponentials.Sum(), found.Dense.ClassProbability(cell, (SurfaceClass)c), 1e-3);
            }
        }
    }

    [Fact]
    public void Mirrored_prediction_changes_sides_and_back()
    {
        ViewPrediction found = _network.Predict(TestModel.View(0)), mirrored = found.Mirrored(), twice = mirrored.Mirrored();
        int left = LandmarkNames.IndexOf("cheilion_left"), right = LandmarkNames.IndexOf("cheilion_right");
        Assert.Equal(256 - found.Landmarks[right].X, mirrored.Landmarks[left].X);
        Assert.Equal(found.Landmarks[right].Y, mirrored.Landmarks[left].Y);
        Assert.All(found.Landmarks.Zip(twice.Landmarks), pair => Assert.Equal(pair.First.X, pair.Second.X, 1e-9));
        int size = found.Dense.Size, cell = (5 * size) + 3, other = (5 * size) + size - 1 - 3;
        Assert.Equal(found.Dense.Atlas[other] * new Vector3(-1, 1, 1), mirrored.Dense.Atlas[cell]);
        Assert.Equal(found.Dense.Sigma[other], mirrored.Dense.Sigma[cell]);
        Assert.Equal(
            found.Dense.ClassProbability(other, SurfaceClass.HeadSkin), mirrored.Dense.ClassProbability(cell, SurfaceClass.HeadSkin));
        Assert.Equal(found.Dense.Atlas.ToArray(), twice.Dense.Atlas.ToArray());
    }

    [Fact]
    public void Parallel_callers_get_bitwise_what_one_caller_gets()
    {
        const int views = 6;
        ReadOnlyMemory<float>[] planes = [.. Enumerable.Range(0, views).Select(n => (ReadOnlyMemory<float>)TestModel.View(n))];
        ViewPrediction[] single = [.. planes.Select(p => _network.Predict(p.Span))];
        var many = new ViewPrediction[3 * views];
        Parallel.For(0, many.Length, new ParallelOptions { MaxDegreeOfParallelism = 4 }, i => many[i] = _network.Predict(planes[i % views].Span));
        ViewPrediction[] all = _network.PredictAll(planes, TestContext.Current.CancellationToken);
        for (int i = 0; i < many.Length; i++)
        {
            AssertSame(single[i % views], many[i]);
        }

        for (int i = 0; i < views; i++)
        {
            AssertSame(single[i], all[i]);
        }

        Assert.NotEqual(single[0].Landmarks[0], single[1].Landmarks[0]);
    }

    [Fact]
    public void View_of_another_size_is_refused()
    {
        Assert.Throws<ArgumentException>(() => _network.Predict(new float[10]));
        Assert.Throws<ArgumentException>(() => _network.PredictAll([new float[10]], TestContext.Current.CancellationToken));
    }

    private static double Sigmoid(double logit) => 1 / (1 + Math.Exp(-logit));

    private static void AssertSame(ViewPrediction a, ViewPrediction b)
    {
        Assert.Equal(a.Landmarks, b.Landmarks);
        Assert.Equal(a.Facing, b.Facing);
        Assert.True(a.Dense.Atlas.SequenceEqual(b.Dense.Atlas));
        Assert.True(a.Dense.Sigma.SequenceEqual(b.Dense.Sigma));
        for (int cell = 0; cell < a.Dense.Size * a.Dense.Size; cell++)
        {
            for (int c = 0; c < DenseMap.ClassCount; c++)
            {
                Assert.Equal(a.Dense.ClassProbability(cell, (SurfaceClass)c), b.Dense.ClassProbability(cell, (SurfaceClass)c));
            }
        }
    }
}
