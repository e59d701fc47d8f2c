using AutoPlace.Landmarks;

namespace AutoPlace.Verification;

/// <summary>What a placement can't do without, on a head.</summary>
internal static class RequiredLandmarks
{
    /// <summary>Each required landmark as it was seen or set, null where it wasn't; the chin's front stands in for its lowest point.</summary>
    /// <param name="landmarks">The head's landmarks.</param>
    internal static IEnumerable<(string Name, Landmark? Seen)> Of(IReadOnlyList<Landmark> landmarks)
    {
        return LandmarkNames.Required.Select(name => (name, Seen(name) ?? (name == "menton" ? Seen("pogonion") : null)));

        Landmark? Seen(string name) => landmarks.FirstOrDefault(l => l.Name == name && l.Source != LandmarkSource.Inferred);
    }
}
