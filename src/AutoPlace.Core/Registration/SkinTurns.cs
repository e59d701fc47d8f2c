using AutoPlace.Geometry;

namespace AutoPlace.Registration;

/// <summary>
/// How the skin turns from a template to a head: the best rotation for the skin around a point, not for the space, which
/// the map only continues off the skin.
/// </summary>
internal sealed class SkinTurns
{
    /// <summary>Distance at which a point's say has dropped to 0.61, interocular distances: about a patch of twice this radius, as wide as an eye.</summary>
    internal const double Nearness = 0.125;

    /// <summary>Keeps the turn defined where no point is near.</summary>
    private const double Rest = 1e-6;

    private readonly Vector3d[] _template;
    private readonly Vector3d[] _head;

    /// <summary>Maps the points.</summary>
    /// <param name="points">Points of the template's skin.</param>
    /// <param name="warp">The map to the head.</param>
    public SkinTurns(IReadOnlyList<ControlPoint> points, HeadWarp warp)
    {
        // With their mirror images, so that both sides, and the midline, are treated alike.
        _template = [.. points.SelectMany(p => (Vector3d[])[p.Atlas, MirroredPoints.Mirror(p.Atlas)])];
        _head = new Vector3d[_template.Length];
        Parallel.For(0, _head.Length, i => _head[i] = warp.Apply(_template[i]));
    }

    /// <summary>Rotation about a point of the template's skin.</summary>
    public Matrix3d At(Vector3d point) => ProcrustesAlignment.Align(_template, _head, Weights(_template, point)).Rotation;

    /// <summary>Weights of points by their distance from one.</summary>
    public static double[] Weights(Vector3d[] points, Vector3d near) =>
        Array.ConvertAll(points, p => Rest + Math.Exp(-(p - near).LengthSquared / (2 * Nearness * Nearness)));
}
