using AutoPlace.Geometry;
using AutoPlace.Landmarks;
using AutoPlace.Template;

namespace AutoPlace.Registration;

/// <summary>
/// Where a template's teeth and tongue may be on a head, to be looked for from there. The face around the mouth tells
/// nearly, but in an open or twisted mouth rows of teeth are nearer to each other than the lips say: the upper ones belong
/// to the skull, the lower ones turn with the jaw, and the tongue goes along with them.
/// </summary>
internal sealed class MouthStarts
{
    // Molars and the tongue's root lie far behind the lips, which alone would tilt them: what lies beside them has a say.
    private static readonly string[] Mouth = ["cheilion", "stomion", "subnasale", "labiale_superius", "labiale_inferius", "gonion", "tragion"];
    private static readonly string[] LowerMouth = ["cheilion", "stomion", "labiale_inferius", "sublabiale", "pogonion", "gonion", "tragion"];
    private static readonly string[] Skull = ["nasion", "subnasale", "alare", "exocanthion", "endocanthion", "tragion"];

    /// <summary>Angles by which a jaw may be open, degrees: so near to each other that teeth settle from one of them.</summary>
    private static readonly double[] Openings = [0, 6, 12, 18, 24];

    private readonly IReadOnlyDictionary<string, Vector3d> _template;
    private readonly IReadOnlyList<Landmark> _head;
    private readonly SimilarityTransform _otherwise;

    /// <summary>Takes the landmarks of both.</summary>
    /// <param name="template">The template's.</param>
    /// <param name="head">The head's.</param>
    /// <param name="otherwise">From the template to the head where too few landmarks are known.</param>
    public MouthStarts(IReadOnlyDictionary<string, Vector3d> template, IReadOnlyList<Landmark> head, SimilarityTransform otherwise) =>
        (_template, _head, _otherwise) = (template, head, otherwise);

    /// <summary>From the template to the head as the face around a part has it.</summary>
    public SimilarityTransform ByFace(Ride ride) => ByLandmarks(_template, _head, ride == Ride.TeethLower ? LowerMouth : Mouth) ?? _otherwise;

    /// <summary>Where to look for a part.</summary>
    /// <param name="ride">The part.</param>
    /// <param name="found">Parts that were found before it.</param>
    public IEnumerable<SimilarityTransform> For(Ride ride, IReadOnlyDictionary<Ride, SimilarityTransform> found)
    {
        yield return ByFace(ride);
        SimilarityTransform upper = found.GetValueOrDefault(Ride.TeethUpper) ?? ByLandmarks(_template, _head, Skull) ?? _otherwise;
        if (ride == Ride.TeethUpper)
        {
            yield return upper;
        }
        else if (ride == Ride.Tongue && found.TryGetValue(Ride.TeethLower, out SimilarityTransform? lower))
        {
            yield return lower;
        }
        else if (ride == Ride.TeethLower && Hinge() is { } hinge)
        {
            foreach (double degrees in Openings)
            {
                yield return Opening(hinge, double.DegreesToRadians(degrees)).Then(upper);
            }
        }
    }

    /// <summary>Similarity by the named landmarks, both sides; null when fewer than three are known.</summary>
    public static SimilarityTransform? ByLandmarks(IReadOnlyDictionary<string, Vector3d> template, IReadOnlyList<Landmark> landmarks, string[] names)
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

    private Vector3d? Hinge() =>
        _template.TryGetValue("tragion_left", out Vector3d left) && _template.TryGetValue("tragion_right", out Vector3d right)
        && _template.TryGetValue("exocanthion_left", out Vector3d leftEye) && _template.TryGetValue("exocanthion_right", out Vector3d rightEye)
            ? JawHingeRule.Apply(left, right, leftEye, rightEye).Centre : null;

    // About the axis to the left; the front goes down.
    private static SimilarityTransform Opening(Vector3d hinge, double radians)
    {
        (double sine, double cosine) = Math.SinCos(radians);
        var turn = Matrix3d.FromColumns(Vector3d.UnitX, new(0, cosine, sine), new(0, -sine, cosine));
        return new(1, turn, hinge - (turn * hinge));
    }
}
