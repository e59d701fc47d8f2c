using AutoPlace.Rendering;
using Microsoft.ML.OnnxRuntime;

namespace AutoPlace.Landmarks;

/// <summary>Memory of one running call of the network, reused from call to call: pinned arrays and the runtime's handles to them.</summary>
internal sealed class NetworkBuffers : IDisposable
{
    private readonly float[][] _outputArrays;
    private readonly OrtValue[] _inputs;
    private readonly OrtValue[] _outputs;

    /// <summary>Allocates the memory of one view.</summary>
    public NetworkBuffers()
    {
        const int size = ModelContract.InputSize;
        Input = GC.AllocateArray<float>(ViewTensor.Length(size), pinned: true);
        _inputs = [OrtValue.CreateTensorValueFromMemory(Input, [1, ViewTensor.Channels, size, size])];
        _outputArrays = new float[ModelContract.Outputs.Count][];
        _outputs = new OrtValue[ModelContract.Outputs.Count];
        for (int i = 0; i < _outputs.Length; i++)
        {
            int[] shape = ModelContract.Shape(ModelContract.Outputs[i]);
            _outputArrays[i] = GC.AllocateArray<float>(shape.Aggregate(1, (product, n) => product * n), pinned: true);
            _outputs[i] = OrtValue.CreateTensorValueFromMemory(_outputArrays[i], [1, .. shape.Select(n => (long)n)]);
        }
    }

    /// <summary>Name of the only input.</summary>
    public static IReadOnlyCollection<string> InputNames { get; } = [ModelContract.Input];

    /// <summary>The input's planes.</summary>
    public float[] Input { get; }

    /// <summary>Handle of the input.</summary>
    public IReadOnlyCollection<OrtValue> Inputs => _inputs;

    /// <summary>Handles of the outputs, in the order of <see cref="ModelContract.Outputs"/>.</summary>
    public IReadOnlyCollection<OrtValue> Outputs => _outputs;

    /// <summary>Values of an output of the contract.</summary>
    public float[] Output(string name)
    {
        for (int i = 0; i < _outputArrays.Length; i++)
        {
            if (ModelContract.Outputs[i] == name)
            {
                return _outputArrays[i];
            }
        }

        throw new ArgumentOutOfRangeException(nameof(name), name, "No output of the contract.");
    }

    /// <summary>Frees the handles.</summary>
    public void Dispose()
    {
        foreach (OrtValue value in _inputs.Concat(_outputs))
        {
            value.Dispose();
        }
    }
}
