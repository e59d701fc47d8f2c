using AutoPlace.Geometry;

namespace AutoPlace.Registration;

/// <summary>
/// How the skin turns from a template to a head: the best rotation for the skin around a point, not for the space, which
/// the map only continues off the skin.
/// </summary>
internal sealed class SkinTurns
{
    /// <summary>Distance at which a point's say has dropped to 0.61, interocular distances: about a patch of twice this radius, as wide as an eye.</summary>
    private const double Nearness = 0.125;

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
        Parallel.For(0, _head.Length, i => _head[i] = warp.ApplyOnLip(_template[i], points[i / 2].Lip));
    }

    /// <summary>Rotation about a point of the template's skin.</summary>
    public Matrix3d At(Vector3d point) => Between(_template, _head, point);

    /// <summary>Rotation of the skin about a point, by points of it.</summary>
    /// <param name="template">N points of the template's skin.</param>
    /// <param name="head">Where they are on the head.</param>
    /// <param name="point">Point of the template's skin.</param>
    public static Matrix3d Between(Vector3d[] template, Vector3d[] head, Vector3d point) =>
        ProcrustesAlignment.Align(template, head, LocalMap.Weights(template, point, Nearness, Rest)).Rotation;
}
