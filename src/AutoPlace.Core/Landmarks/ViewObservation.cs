using AutoPlace.Rendering;

namespace AutoPlace.Landmarks;

/// <summary>What the network said about one view, together with what the view shows.</summary>
/// <param name="HeadView">The view in the head frame, interocular distances.</param>
/// <param name="FileView">The same view in the file.</param>
/// <param name="Buffer">Triangles and depths seen, of the whole scan in file coordinates.</param>
/// <param name="Prediction">What the network says of the image.</param>
public sealed record ViewObservation(
    OrthographicView HeadView, OrthographicView FileView, VisibilityBuffer Buffer, ViewPrediction Prediction);
