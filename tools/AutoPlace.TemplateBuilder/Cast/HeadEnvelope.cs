using System.Numerics;
using AutoPlace.Geometry;
using AutoPlace.TemplateBuilder.Heads;

namespace AutoPlace.TemplateBuilder.Cast;

/// <summary>A head seen from outside: skin, the eyeballs in its openings, and the open end of the neck.</summary>
internal sealed class HeadEnvelope
{
    /// <summary>Point inside the head from which its whole surface is seen, atlas coordinates.</summary>
    public static Vector3d Centre { get; } = new(0, -0.35, -0.75);

    private const double Far = 10;

    /// <summary>
    /// True within an oval about either ear of the template, where rays from within see next to nothing, and around lids
    /// and lips, whose margins they would fray: no surface of rays goes there; patches of their own, a little larger, do.
    /// </summary>
    /// <param name="p">Point of the template's skin.</param>
    /// <param name="size">Size of ovals and rounds, 1 for those that are left out.</param>
    public static bool IsPatch(Vector3d p, double size = 1)
    {
        double side = Math.Abs(p.X);
        bool isEar = side > 0.9 && Math.Pow((p.Y + 0.42) / 0.54, 2) + Math.Pow((p.Z + 1.20) / 0.37, 2) < size * size;
        bool isMouth = p.Z > 0 && Math.Pow(side / 0.50, 2) + Math.Pow((p.Y + 1.12) / 0.28, 2) < size * size;
        return isEar || isMouth || Vector3d.Distance(p with { X = side }, new(0.5, 0, 0)) < 0.37 * size;
    }

    private readonly BoundingVolumeHierarchy _skin;
    private readonly TriangleMesh _template;
    private readonly Vector3d _eye;
    private readonly double _ballRadius;
    private readonly Vector3d[] _neckBorder;

    /// <param name="skin">The skin, symmetric about x = 0, atlas coordinates.</param>
    /// <param name="template">The same triangles in the template's shape.</param>
    /// <param name="eye">Centre of the left eyeball.</param>
    /// <param name="ballRadius">Radius of either eyeball.</param>
    public HeadEnvelope(TriangleMesh skin, TriangleMesh template, Vector3d eye, double ballRadius)
    {
        _skin = new BoundingVolumeHierarchy(skin);
        _template = template;
        _eye = eye;
        _ballRadius = ballRadius;
        _neckBorder = NeckBorder(skin);
    }

    /// <summary>
    /// The first point on the way from far outside to <paramref name="centre"/>, which lies on the midline. Points of
    /// the right half are mirror images of the left half to the last bit.
    /// </summary>
    public (Vector3d Point, Coverage Coverage) Toward(Vector3d centre, Vector3d outward)
    {
        Vector3d left = (outward with { X = Math.Abs(outward.X) }).Normalized();
        (double reach, Coverage coverage, bool isNeck) = Reach(centre, left);
        Vector3d point = isNeck ? Rim(centre, left) : centre + (left * reach);
        return (point with { X = outward.X == 0 ? 0 : outward.X < 0 ? -point.X : point.X }, coverage);
    }

    private (double Reach, Coverage Coverage, bool IsNeck) Reach(Vector3d centre, Vector3d left)
    {
        Vector3d origin = centre + (left * Far);
        RayHit hit = _skin.CastRay((Vector3)origin, (Vector3)(-left), (float)Far);
        double? skin = hit.IsHit && hit.IsFrontFace ? hit.Parameter : null;
        if (BallDistance(origin, left) is { } ball && ball < (skin ?? double.PositiveInfinity))
        {
            return (Far - ball, Coverage.Border, false);
        }

        if (skin is not null)
        {
            return (Far - skin.Value, IsPatch(_template.Position(hit.Point)) ? Coverage.Excluded : Coverage.Inside, false);
        }

        // Through an opening: out of the neck; past the ball in the corner of the lids, as deep as the ray comes to it;
        // between the lips, as deep as the skin a little higher.
        const double NeckSlope = -0.62, CornerReach = 2, Nudge = 0.01;
        double toEye = Vector3d.Dot(_eye - centre, left);
        return left.Y < NeckSlope ? (0, Coverage.Border, true)
            : Vector3d.Distance(centre + (left * toEye), _eye) < CornerReach * _ballRadius ? (toEye, Coverage.Border, false)
            : Reach(centre, (left + new Vector3d(0, Nudge, 0)).Normalized());
    }

    // The point of the neck's border that lies nearest to a direction.
    private Vector3d Rim(Vector3d centre, Vector3d left) => _neckBorder.MaxBy(p => Vector3d.Dot((p - centre).Normalized(), left));

    // The border that holds the lowest vertex, densely; midline and left side.
    private static Vector3d[] NeckBorder(TriangleMesh skin)
    {
        const int StepsPerEdge = 8;
        var adjacency = new MeshAdjacency(skin);
        IReadOnlyList<int> loop = adjacency.Borders().MinBy(path => path.Vertices.Min(v => skin.Positions[v].Y))!.Vertices;
        return [.. Enumerable.Range(0, loop.Count * StepsPerEdge)
            .Select(k => Vector3d.Lerp(skin.Positions[loop[k / StepsPerEdge]], skin.Positions[loop[((k / StepsPerEdge) + 1) % loop.Count]], k % StepsPerEdge / (double)StepsPerEdge))
            .Where(p => p.X > -1e-6)];
    }

    private double? BallDistance(Vector3d origin, Vector3d outward)
    {
        Vector3d toEye = origin - _eye;
        double along = Vector3d.Dot(toEye, outward);
        double miss = toEye.LengthSquared - (along * along);
        double depth = (_ballRadius * _ballRadius) - miss;
        return depth > 0 ? along - Math.Sqrt(depth) : null;
    }
}
