using AutoPlace.Geometry;

namespace AutoPlace.TemplateBuilder.Cast;

/// <summary>
/// How a puppet's eyes differ from the template's. Lids and ball follow one and the same stretch, so that the lids
/// rest on the ball whatever the rest of the face does.
/// </summary>
/// <param name="Size">Factors along the axes; equal ones keep the ball a ball. For flat eyes the third is that of their thickness.</param>
/// <param name="Move">Added shift of the left eye; x counts outward.</param>
/// <param name="Flat">
/// True for eyes that are no balls but flat plates: they shrink towards their front, and what they turn about lies
/// behind them, where the centre of a ball with the plate's breadth would lie.
/// </param>
internal sealed record EyeShape(Vector3d Size, Vector3d Move, bool Flat = false)
{
    /// <summary>The template's own eyes.</summary>
    public static EyeShape Same { get; } = new(new(1, 1, 1), Vector3d.Zero);
}
