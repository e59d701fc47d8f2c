using System.Numerics;
using AutoPlace.TrainingData.Morphable;

namespace AutoPlace.TrainingData.Annotation;

/// <summary>
/// Where a person puts a landmark that the model's own list has elsewhere, and which landmarks are extremes of the
/// surface. Shifts were measured on labelled heads of other origin as a group (median over the realistic ones), never
/// on a single head; the model card names them.
/// </summary>
internal static class LandmarkDefinition
{
    /// <summary>Landmarks that are an extreme of the skin in the head frame.</summary>
    public static IReadOnlyList<Extreme> Extremes { get; } =
    [
        // The nasal root's deepest point, the tip's and the chin's most anterior one, the wings' most lateral one as seen a
        // little from the front; directions lean by up to 8 degrees.
        new("nasion", new(0, -0.14f, -1), 1.0f, 0.04f),
        new("pronasale", new(0, -0.11f, 1), 0.9f, 0.04f),
        new("pogonion", new(0, -0.03f, 1), 1.2f, 0.06f),

        // Where the chin's outline turns into the floor of the mouth: its tangent falls by 19 degrees.
        new("menton", new(0, -0.945f, 0.326f), 1.4f, 0.1f),
        new("alare_left", new(1, 0, 0.08f), 0.38f, 0.04f),
        new("alare_right", new(-1, 0, 0.08f), 0.38f, 0.04f),
    ];

    /// <summary>A named landmark of the mean as a person marks it, centimetres.</summary>
    public static Vector3 OnMean(MorphableModel model, string name)
    {
        bool right = name.EndsWith("_right", StringComparison.Ordinal);
        Vector3 shift = name.Split('_')[0] switch
        {
            "nasion" => new(0, 0.34f, -0.08f),
            "pronasale" => new(0, -0.31f, 0.02f),
            "pogonion" => new(0, -0.10f, -0.02f),
            "menton" => new(0, -0.33f, -0.67f),
            "tragion" => new(0.12f, 0.50f, -0.07f),
            "alare" => new(0, 0, 0.08f),
            "exocanthion" => new(0.15f, 0, -0.08f),
            "endocanthion" => new(-0.07f, 0.05f, 0.03f),
            _ => default,
        };
        return model.Landmarks[name] + (right ? shift with { X = -shift.X } : shift);
    }

    /// <summary>A landmark that is found anew on each head.</summary>
    /// <param name="Name">Its name.</param>
    /// <param name="Direction">In which direction it is the extreme, head frame.</param>
    /// <param name="ReachCm">How far from its place on the mean it may lie, centimetres on the mean.</param>
    /// <param name="Preference">
    /// Loss of a candidate for each square centimetre of distance from that place: half of what a curvature of that many
    /// radians for each centimetre gives; chin and jaw bend by about 0.2.
    /// </param>
    internal readonly record struct Extreme(string Name, Vector3 Direction, float ReachCm, float Preference);
}
