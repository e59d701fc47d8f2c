using AutoPlace.Geometry;
using AutoPlace.Landmarks;
using AutoPlace.Template;

namespace AutoPlace.Registration;

/// <summary>From a template to the teeth and the tongue of a head: by their own surfaces where both have them, else by the face around the mouth.</summary>
public sealed class MouthFit
{
    // Molars and the tongue's root lie far behind the lips, which alone would tilt them: what lies beside them has a say.
    private static readonly string[] MouthLandmarks = ["cheilion", "stomion", "subnasale", "labiale_superius", "labiale_inferius", "gonion", "tragion"];
    private static readonly string[] LowerMouthLandmarks = ["cheilion", "stomion", "labiale_inferius", "sublabiale", "pogonion", "gonion", "tragion"];

    private readonly PreparedTemplate _atlas;
    private readonly HeadEvidence _evidence;
    private readonly Lazy<IReadOnlyDictionary<Ride, SimilarityTransform>> _found;

    /// <summary>Prepares a head; the parts are looked for when a joint asks for one.</summary>
    /// <param name="atlas">The template that was shaped after the atlas.</param>
    /// <param name="evidence">What is known of the head.</param>
    internal MouthFit(PreparedTemplate atlas, HeadEvidence evidence)
    {
        (_atlas, _evidence) = (atlas, evidence);
        _found = new(() => atlas.MouthParts.Find(evidence.OtherPieces, ride => ByFace(atlas.Head, ride)));
    }

    /// <summary>Ways to ride that have a part in the mouth.</summary>
    internal static IReadOnlyList<Ride> Rides { get; } = [Ride.TeethUpper, Ride.TeethLower, Ride.Tongue];

    /// <summary>The similarity from a template to a part of the head.</summary>
    /// <param name="ride">One of <see cref="Rides"/>.</param>
    /// <param name="template">The template: the atlas's own, or one embedded in it.</param>
    internal (SimilarityTransform Similarity, JointState State) Of(Ride ride, PreparedTemplate template)
    {
        bool isFound = _found.Value.TryGetValue(ride, out SimilarityTransform? onHead);
        if (template == _atlas)
        {
            return isFound ? (onHead!, JointState.Modelled) : (ByFace(template.Head, ride), JointState.Inferred);
        }

        FoundMouth mouth = template.MouthOn(_atlas);
        if (!isFound || !mouth.FromAtlas.TryGetValue(ride, out SimilarityTransform? onTemplate))
        {
            return (ByFace(template.Head, ride), JointState.Inferred);
        }

        // By the atlas's teeth both are known nearly; a template's own teeth are more like those of the head.
        SimilarityTransform nearly = onTemplate.Inverse().Then(onHead!);
        return (mouth.Own.Find(ride, _evidence.OtherPieces, nearly) ?? nearly, JointState.Modelled);
    }

    /// <summary>Where a part of one template's mouth is expected on another's head.</summary>
    internal static SimilarityTransform? Expected(TemplateHead from, TemplateHead onto, Ride ride) => ByLandmarks(
        from.Landmarks,
        [.. onto.Landmarks.Select(l => new Landmark(l.Key, l.Value, Matrix3d.Identity, 1, LandmarkSource.Network))],
        NamesOf(ride));

    /// <summary>Similarity by the named landmarks, both sides; null when fewer than three are known.</summary>
    internal static SimilarityTransform? ByLandmarks(IReadOnlyDictionary<string, Vector3d> template, IReadOnlyList<Landmark> landmarks, string[] names)
    {
        var sources = new List<Vector3d>();
        var targets = new List<Vector3d>();
        var weights = new List<double>();
        foreach (Landmark l in landmarks)
        {
            if (Array.Exists(names, n => l.Name == n || l.Name == n + "_left" || l.Name == n + "_right")
                && template.TryGetValue(l.Name, out Vector3d atlas))
            {
                sources.Add(atlas);
                targets.Add(l.Position);
                weights.Add(1 / l.Covariance.Trace);
            }
        }

        return sources.Count >= 3 ? ProcrustesAlignment.Align([.. sources], [.. targets], [.. weights]) : null;
    }

    private SimilarityTransform ByFace(TemplateHead template, Ride ride) =>
        ByLandmarks(template.Landmarks, _evidence.Landmarks, NamesOf(ride)) ?? _evidence.AtlasToHead;

    private static string[] NamesOf(Ride ride) => ride == Ride.TeethLower ? LowerMouthLandmarks : MouthLandmarks;
}
