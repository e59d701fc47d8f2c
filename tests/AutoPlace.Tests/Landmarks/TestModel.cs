using System.Runtime.CompilerServices;
using AutoPlace.Landmarks;
using AutoPlace.Rendering;

namespace AutoPlace.Tests.Landmarks;

/// <summary>A narrow network with random weights (tools/train-landmarks/make_test_model.py), and views by formula.</summary>
internal static class TestModel
{
    /// <summary>Folder of the model in the source tree.</summary>
    public static string Folder { get; } = Path.Combine(Path.GetDirectoryName(ThisFile())!, "TinyModel");

    /// <summary>Folder of the trainer.</summary>
    public static string TrainerFolder { get; } =
        Path.GetFullPath(Path.Combine(Path.GetDirectoryName(ThisFile())!, "../../../tools/train-landmarks"));

    /// <summary>View number n of the trainer's export.procedural_views.</summary>
    public static float[] View(int n)
    {
        const int size = ModelContract.InputSize;
        float[] planes = new float[ViewTensor.Length(size)];
        for (int c = 0; c < ViewTensor.Channels; c++)
        {
            for (int y = 0; y < size; y++)
            {
                for (int x = 0; x < size; x++)
                {
                    double value = (0.618034 * c) + (0.37 * n) + (x * y / 977.0) + ((x + (2 * y)) / 256.0);
                    planes[(((c * size) + y) * size) + x] = (float)(value - Math.Floor(value));
                }
            }
        }

        return planes;
    }

    private static string ThisFile([CallerFilePath] string path = "") => path;
}
