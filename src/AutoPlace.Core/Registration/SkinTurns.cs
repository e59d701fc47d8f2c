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

    /// <summary>Skin farther than this from where the map has it isn't what the map means, interocular distances.</summary>
    private const double Reach = 0.15;

    private readonly Vector3d[] _template;
    private readonly Vector3d[] _head;

    /// <summary>Maps the points, and puts them on the skin: the map knows better where on it a point is than how it faces there.</summary>
    /// <param name="template">The template.</param>
    /// <param name="points">Its control points, in their order.</param>
    /// <param name="warp">The map to the head.</param>
    /// <param name="skin">The head's skin.</param>
    public SkinTurns(PreparedTemplate template, IReadOnlyList<ControlPoint> points, HeadWarp warp, SkinSurface skin)
    {
        // With their mirror images, so that both sides, and the midline, are treated alike.
        _template = [.. points.SelectMany(p => (Vector3d[])[p.Atlas, MirroredPoints.Mirror(p.Atlas)])];
        _head = new Vector3d[_template.Length];
        Vector3d[] normals = template.ControlNormals.ToArray();
        Parallel.For(0, _head.Length, i =>
        {
            double lip = points[i / 2].Lip;
            Vector3d normal = i % 2 == 0 ? normals[i / 2] : MirroredPoints.Mirror(normals[i / 2]);
            Vector3d expected = warp.ApplyOnLip(_template[i], lip);
            SkinPlace place = skin.Project(expected, warp.Normal(_template[i], normal, lip), Reach);
            _head[i] = Vector3d.Distance(place.Position, expected) < Reach ? place.Position : expected;
        });
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
