using AutoPlace.Rendering;
using Microsoft.ML.OnnxRuntime;

namespace AutoPlace.Landmarks;

/// <summary>Memory of one running call of a network on views, reused from call to call: pinned arrays and the runtime's handles to them.</summary>
internal sealed class NetworkBuffers : IDisposable
{
    private readonly IReadOnlyList<string> _names;
    private readonly float[][] _outputArrays;
    private readonly OrtValue[] _inputs;
    private readonly OrtValue[] _outputs;

    /// <summary>Allocates the memory of one view.</summary>
    /// <param name="outputs">Names of the outputs, in the order in which the network is asked for them.</param>
    /// <param name="shape">Shape of an output for one view, without the batch dimension.</param>
    public NetworkBuffers(IReadOnlyList<string> outputs, Func<string, int[]> shape)
    {
        const int size = ModelContract.InputSize;
        Input = GC.AllocateArray<float>(ViewTensor.Length(size), pinned: true);
        _inputs = [OrtValue.CreateTensorValueFromMemory(Input, [1, ViewTensor.Channels, size, size])];
        _names = outputs;
        _outputArrays = new float[outputs.Count][];
        _outputs = new OrtValue[outputs.Count];
        for (int i = 0; i < _outputs.Length; i++)
        {
            int[] dimensions = shape(outputs[i]);
            _outputArrays[i] = GC.AllocateArray<float>(dimensions.Aggregate(1, (product, n) => product * n), pinned: true);
            _outputs[i] = OrtValue.CreateTensorValueFromMemory(_outputArrays[i], [1, .. dimensions.Select(n => (long)n)]);
        }
    }

    /// <summary>The input's planes.</summary>
    public float[] Input { get; }

    /// <summary>Handle of the input.</summary>
    public IReadOnlyCollection<OrtValue> Inputs => _inputs;

    /// <summary>Handles of the outputs, in their order.</summary>
    public IReadOnlyCollection<OrtValue> Outputs => _outputs;

    /// <summary>Values of an output.</summary>
    public float[] Output(string name)
    {
        for (int i = 0; i < _outputArrays.Length; i++)
        {
            if (_names[i] == name)
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
