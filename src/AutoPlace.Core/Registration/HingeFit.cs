using AutoPlace.Geometry;
using AutoPlace.Template;

namespace AutoPlace.Registration;

/// <summary>
/// From a template to the hinge of a head's jaw: by the skin around each condyle as far as it is seen there, under hair
/// and hats by the landmarks of both sides.
/// </summary>
internal sealed class HingeFit
{
    /// <summary>Skin this near to a condyle has most of the say where it is, interocular distances.</summary>
    private const double AroundCondyle = 0.4;

    /// <summary>Joints of the hinge this near to the midline hang on both condyles, interocular distances.</summary>
    private const double Midline = 0.1;

    /// <summary>Standard deviation at which skin is as much guessed as seen, interocular distances.</summary>
    private const double HalfSeen = 0.05;

    private static readonly string[] Landmarks = ["tragion", "exocanthion", "gonion"], Tragia = ["tragion_left", "tragion_right"];

    private readonly TemplateHead _template;
    private readonly SimilarityTransform _byLandmarks;
    private readonly Vector3d[] _skin, _skinOnHead;
    private readonly double[] _seen;

    /// <summary>Prepares a head.</summary>
    public HingeFit(TemplateHead template, HeadRegistration head)
    {
        _template = template;
        _byLandmarks = MouthStarts.ByLandmarks(template.Landmarks, head.Evidence.Landmarks, Landmarks) ?? head.Evidence.AtlasToHead;
        _skin = [.. head.Controls.Select(control => control.Atlas)];
        _seen = [.. head.Controls.Select(control => 1 / (1 + (control.Variance / (HalfSeen * HalfSeen))))];
        _skinOnHead = new Vector3d[_skin.Length];
        Parallel.For(0, _skin.Length, i => _skinOnHead[i] = head.Warp.ApplyOnLip(_skin[i], head.Controls[i].Lip));
    }

    /// <summary>How much points of the skin say about a joint of the hinge: the bone is under them, on one side, or on both for a joint on the midline.</summary>
    /// <param name="template">The template.</param>
    /// <param name="skin">N points of its skin.</param>
    /// <param name="joint">The joint's place on it.</param>
    public static double[] Weights(TemplateHead template, Vector3d[] skin, Vector3d joint)
    {
        double condyle = HalfCondylar(template);
        Vector3d left = joint with { X = Math.Max(Math.Abs(joint.X), condyle) }, right = left with { X = -left.X };
        return Array.ConvertAll(skin, p => (joint.X > -Midline ? Near(p, left) : 0) + (joint.X < Midline ? Near(p, right) : 0));

        static double Near(Vector3d p, Vector3d centre) => Math.Exp(-(p - centre).LengthSquared / (2 * AroundCondyle * AroundCondyle));
    }

    // Ears under hair weren't seen on a studio's own head.
    private static double HalfCondylar(TemplateHead template)
    {
        double[] seen = [.. Tragia.Where(template.Landmarks.ContainsKey).Select(name => Math.Abs(template.Landmarks[name].X))];
        return seen.Length > 0 ? seen.Average() * JawHingeRule.CondylarToBitragal : JawHingeRule.AdultHalfCondylar;
    }

    /// <summary>Where a joint of the hinge is on the head, and how large the head is there against the template.</summary>
    public (double Size, Vector3d Position) Place(Vector3d joint)
    {
        double[] weights = Weights(_template, _skin, joint);
        (SimilarityTransform similarity, Vector3d place) = LocalMap.Carry(_skin, _skinOnHead, weights, joint);
        double seen = weights.Zip(_seen, (weight, share) => weight * share).Sum() / weights.Sum();
        return (double.Lerp(_byLandmarks.Scale, similarity.Scale, seen), Vector3d.Lerp(_byLandmarks.Apply(joint), place, seen));
    }
}
