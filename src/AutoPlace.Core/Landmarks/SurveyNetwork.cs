using AutoPlace.Rendering;

namespace AutoPlace.Landmarks;

/// <summary>The head finder's network: where heads are in a view of all of a mesh, from any side.</summary>
public sealed class SurveyNetwork : IDisposable
{
    private const string Kind = "head finder", Format = "autoplace.head-finder";

    private readonly ViewNetwork _views;

    private SurveyNetwork(string folder) =>
        _views = new ViewNetwork(NetworkFile.Read(Kind, Format, SurveyContract.Sha256, folder), SurveyContract.Outputs, SurveyContract.Shape);

    /// <summary>Loads the network that comes with the program.</summary>
    /// <exception cref="LandmarkModelException">There is none, or it can't be used.</exception>
    public static SurveyNetwork OpenDefault() =>
        new(NetworkFile.Newest(Kind, Path.Combine(AppContext.BaseDirectory, "models", "head-finder")));

    /// <summary>The map of one view; see <see cref="SurveyContract"/>.</summary>
    /// <param name="planes">The view as <see cref="ViewTensor"/> writes it, <see cref="ModelContract.InputSize"/> pixels a side; finite.</param>
    /// <exception cref="ArgumentException">Another number of elements.</exception>
    internal float[] Predict(ReadOnlySpan<float> planes) => _views.Run(planes, buffers => buffers.Output(SurveyContract.Map).ToArray());

    /// <summary>Frees the network; no call may be running.</summary>
    public void Dispose() => _views.Dispose();
}
