using System.Collections.Concurrent;
using AutoPlace.Rendering;
using Microsoft.ML.OnnxRuntime;

namespace AutoPlace.Landmarks;

/// <summary>
/// A network that looks at one view at a time. Each call runs on the caller's thread alone, so what it returns doesn't
/// depend on how many callers there are; any number may call at once.
/// </summary>
internal sealed class ViewNetwork : IDisposable
{
    private static readonly string[] InputNames = [ModelContract.Input];
    private readonly NetworkFile _file;
    private readonly IReadOnlyList<string> _outputs;
    private readonly Func<string, int[]> _shape;
    private readonly InferenceSession _session;
    private readonly RunOptions _runOptions = new();
    private readonly ConcurrentBag<NetworkBuffers> _idle = [];

    /// <summary>Loads a network.</summary>
    /// <param name="file">The network.</param>
    /// <param name="outputs">Names of its outputs.</param>
    /// <param name="shape">Shape of an output for one view, without the batch dimension.</param>
    /// <exception cref="LandmarkModelException">The ONNX file can't be loaded or hasn't the contract's inputs and outputs.</exception>
    public ViewNetwork(NetworkFile file, IReadOnlyList<string> outputs, Func<string, int[]> shape)
    {
        (_file, _outputs, _shape) = (file, outputs, shape);
        RuntimeTelemetry.TurnOff();
        using var options = new SessionOptions
        {
            IntraOpNumThreads = 1,
            InterOpNumThreads = 1,
            ExecutionMode = ExecutionMode.ORT_SEQUENTIAL,
            GraphOptimizationLevel = GraphOptimizationLevel.ORT_ENABLE_ALL,
        };
        try
        {
            _session = new InferenceSession(file.Onnx, options);
        }
        catch (OnnxRuntimeException e)
        {
            throw new LandmarkModelException($"{file.Kind} {file.Name} {file.Version}: the ONNX file can't be loaded: {e.Message}", e);
        }

        CheckShapes();
    }

    /// <summary>Runs the network on one view and reads what it said.</summary>
    /// <param name="planes">The view as <see cref="ViewTensor"/> writes it, <see cref="ModelContract.InputSize"/> pixels a side; finite.</param>
    /// <param name="read">Reads the outputs; they are overwritten afterwards.</param>
    /// <exception cref="ArgumentException">Another number of elements.</exception>
    public T Run<T>(ReadOnlySpan<float> planes, Func<NetworkBuffers, T> read)
    {
        if (planes.Length != ViewTensor.Length(ModelContract.InputSize))
        {
            throw new ArgumentException(
                $"{planes.Length} elements for a view of {ViewTensor.Channels} x {ModelContract.InputSize} x {ModelContract.InputSize}.",
                nameof(planes));
        }

        if (!_idle.TryTake(out NetworkBuffers? buffers))
        {
            buffers = new NetworkBuffers(_outputs, _shape);
        }

        try
        {
            planes.CopyTo(buffers.Input);
            _session.Run(_runOptions, InputNames, buffers.Inputs, _outputs, buffers.Outputs);
            return read(buffers);
        }
        finally
        {
            _idle.Add(buffers);
        }
    }

    /// <summary>Frees the network; no call may be running.</summary>
    public void Dispose()
    {
        while (_idle.TryTake(out NetworkBuffers? buffers))
        {
            buffers.Dispose();
        }

        _runOptions.Dispose();
        _session.Dispose();
    }

    private void CheckShapes()
    {
        Check(ModelContract.Input, _session.InputMetadata, [ViewTensor.Channels, ModelContract.InputSize, ModelContract.InputSize]);
        foreach (string output in _outputs)
        {
            Check(output, _session.OutputMetadata, _shape(output));
        }
    }

    // The first dimension is the batch's and may have any size.
    private void Check(string name, IReadOnlyDictionary<string, NodeMetadata> found, int[] shape)
    {
        if (!found.TryGetValue(name, out NodeMetadata? metadata)
            || metadata.ElementType != typeof(float)
            || metadata.Dimensions.Length != shape.Length + 1
            || !metadata.Dimensions.AsSpan(1).SequenceEqual(shape))
        {
            string instead = metadata is null ? "missing" : $"{metadata.ElementType.Name} [{string.Join(", ", metadata.Dimensions)}]";
            _session.Dispose();
            _runOptions.Dispose();
            throw new LandmarkModelException(
                $"{_file.Kind} {_file.Name} {_file.Version}: '{name}' should be float [N, {string.Join(", ", shape)}], is {instead}.");
        }
    }
}
