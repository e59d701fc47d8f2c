using System.Numerics;
using AutoPlace.Rendering;

namespace AutoPlace.Landmarks;

/// <summary>
/// The landmark network, ready to look at views. Each call runs on the caller's thread alone, so what it returns doesn't
/// depend on how many callers there are; any number may call at once.
/// </summary>
public sealed class LandmarkNetwork : IDisposable
{
    private readonly ViewNetwork _views;

    /// <summary>Loads the network of a model.</summary>
    /// <exception cref="LandmarkModelException">The ONNX file can't be loaded or hasn't the contract's inputs and outputs.</exception>
    public LandmarkNetwork(LandmarkModel model)
    {
        ArgumentNullException.ThrowIfNull(model);
        Model = model;
        _views = new ViewNetwork(model.File, ModelContract.Outputs, ModelContract.Shape);
    }

    /// <summary>The model that the network was loaded from.</summary>
    public LandmarkModel Model { get; }

    /// <summary>What the network says of one view.</summary>
    /// <param name="planes">The view as <see cref="ViewTensor"/> writes it, <see cref="ModelContract.InputSize"/> pixels a side; finite.</param>
    /// <exception cref="ArgumentException">Another number of elements, or planes that aren't finite.</exception>
    public ViewPrediction Predict(ReadOnlySpan<float> planes) => _views.Run(planes, Read);

    /// <summary>What the network says of several views, which are looked at in parallel.</summary>
    /// <param name="views">The views, each as for <see cref="Predict"/>.</param>
    /// <param name="cancellation">Stops before the next view.</param>
    /// <returns>One prediction for each view, in their order.</returns>
    /// <exception cref="ArgumentException">A view that <see cref="Predict"/> refuses.</exception>
    public ViewPrediction[] PredictAll(IReadOnlyList<ReadOnlyMemory<float>> views, CancellationToken cancellation = default)
    {
        ArgumentNullException.ThrowIfNull(views);
        for (int i = 0; i < views.Count; i++)
        {
            if (views[i].Length != ViewTensor.Length(ModelContract.InputSize))
            {
                throw new ArgumentException($"view {i}: {views[i].Length} elements.", nameof(views));
            }
        }

        var predictions = new ViewPrediction[views.Count];
        var options = new ParallelOptions { CancellationToken = cancellation, MaxDegreeOfParallelism = Environment.ProcessorCount };
        Parallel.For(0, views.Count, options, i => predictions[i] = Predict(views[i].Span));
        return predictions;
    }

    /// <summary>Frees the network; no call may be running.</summary>
    public void Dispose() => _views.Dispose();

    private static ViewPrediction Read(NetworkBuffers buffers)
    {
        const int cells = ModelContract.MapSize * ModelContract.MapSize;
        var landmarks = new LandmarkPrediction[LandmarkNames.All.Count];
        for (int i = 0; i < landmarks.Length; i++)
        {
            HeatmapPeak peak = HeatmapDecoder.Decode(
                buffers.Output("heatmaps").AsSpan(i * cells, cells), ModelContract.MapSize, ModelContract.CellPixels, buffers.Output("scales")[i]);
            landmarks[i] = new LandmarkPrediction(peak.X, peak.Y, peak.Sigma, Sigmoid(buffers.Output("presence")[i]));
        }

        ReadOnlySpan<float> dense = buffers.Output("dense");
        var atlas = new Vector3[cells];
        float[] sigma = new float[cells];
        for (int cell = 0; cell < cells; cell++)
        {
            atlas[cell] = new Vector3(dense[cell], dense[cells + cell], dense[(2 * cells) + cell]);
            float logScale = Math.Clamp(dense[(3 * cells) + cell], ModelContract.MinLogAtlasScale, ModelContract.MaxLogAtlasScale);
            sigma[cell] = MathF.Sqrt(2) * MathF.Exp(logScale); // of a Laplace distribution
        }

        float[] classes = new float[DenseMap.ClassCount * cells];
        ChannelSoftmax.Apply(buffers.Output("classes"), DenseMap.ClassCount, classes);
        return new ViewPrediction(landmarks, Sigmoid(buffers.Output("facing")[0]), new DenseMap(ModelContract.MapSize, atlas, sigma, classes));
    }

    /// <summary>Probability of a logit.</summary>
    internal static double Sigmoid(double logit) => 1 / (1 + Math.Exp(-logit));
}
