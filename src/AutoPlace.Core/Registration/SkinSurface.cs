using System.Numerics;
using AutoPlace.Geometry;

namespace AutoPlace.Registration;

/// <summary>A place on the skin.</summary>
/// <param name="Point">Triangle and barycentric weights.</param>
/// <param name="Position">Position, head frame, interocular distances.</param>
/// <param name="Normal">Interpolated unit normal.</param>
public readonly record struct SkinPlace(SurfacePoint Point, Vector3d Position, Vector3d Normal);

/// <summary>The head's skin, prepared for putting joints on it.</summary>
public sealed class SkinSurface
{
    /// <summary>Cosine of the largest angle between the expected and the found normal.</summary>
    private const double NormalAgreement = 0.2;

    private readonly int[] _sourceTriangles;
    private readonly Vector3[] _normals;

    private SkinSurface(TriangleMesh mesh, int[] sourceTriangles)
    {
        Mesh = mesh;
        _sourceTriangles = sourceTriangles;
        Hierarchy = new BoundingVolumeHierarchy(mesh);
        _normals = VertexNormals.AngleWeighted(mesh);
    }

    /// <summary>Prepares the skin of a head.</summary>
    /// <param name="headMesh">The whole scan, head frame, interocular distances.</param>
    /// <param name="skinTriangles">Indices of those of its triangles that are skin; at least one.</param>
    public static SkinSurface Of(TriangleMesh headMesh, int[] skinTriangles)
    {
        ArgumentNullException.ThrowIfNull(headMesh);
        ArgumentNullException.ThrowIfNull(skinTriangles);
        return new SkinSurface(headMesh.Subset(skinTriangles), skinTriangles);
    }

    /// <summary>Nearest points and rays on the skin.</summary>
    public BoundingVolumeHierarchy Hierarchy { get; }

    /// <summary>A point of the skin as a point of the whole scan.</summary>
    public SurfacePoint InHeadMesh(SurfacePoint skinPoint) => skinPoint with { Triangle = _sourceTriangles[skinPoint.Triangle] };

    /// <summary>The skin, head frame, interocular distances.</summary>
    public TriangleMesh Mesh { get; }

    /// <summary>
    /// The place on the skin for an expected point: the nearest one when the skin there faces as expected, else the
    /// nearest of those met along the expected normal and at points beside it; else the nearest one all the same.
    /// </summary>
    /// <param name="expected">Expected point.</param>
    /// <param name="normal">Expected unit outward normal.</param>
    /// <param name="reach">How far to look along the normal, interocular distances.</param>
    public SkinPlace Project(Vector3d expected, Vector3d normal, double reach)
    {
        SkinPlace nearest = Place(Hierarchy.ClosestPoint((Vector3)expected).Point);
        if (Vector3d.Dot(nearest.Normal, normal) >= NormalAgreement)
        {
            return nearest;
        }

        SkinPlace best = nearest;
        double bestDistance = double.PositiveInfinity;
        foreach (double sign in (ReadOnlySpan<double>)[1, -1])
        {
            RayHit hit = Hierarchy.CastRay((Vector3)expected, (Vector3)(normal * sign), (float)reach);
            if (!hit.IsHit || hit.Parameter >= bestDistance)
            {
                continue;
            }

            SkinPlace place = Place(hit.Point);
            if (Vector3d.Dot(place.Normal, normal) >= NormalAgreement)
            {
                (best, bestDistance) = (place, hit.Parameter);
            }
        }

        return best;
    }

    /// <summary>Signed distance of a point from the skin near a given place: along that place's own normal, so that folds don't count the opposite side.</summary>
    public double Clearance(Vector3d point, SkinPlace place)
    {
        SurfaceProximity near = Hierarchy.ClosestPoint((Vector3)point);
        SkinPlace there = Place(near.Point);
        if (Vector3d.Dot(there.Normal, place.Normal) <= 0)
        {
            return Vector3d.Dot(point - place.Position, place.Normal);
        }

        // The distance itself, not its part along the normal: it is the same for two walls that are equally near.
        return Vector3d.Dot(point - there.Position, there.Normal) < 0 ? -near.Distance : near.Distance;
    }

    private SkinPlace Place(SurfacePoint point)
    {
        ReadOnlySpan<int> indices = Mesh.Indices;
        int first = 3 * point.Triangle;
        Vector3d normal = (((Vector3d)_normals[indices[first]] * point.Barycentric.X)
            + ((Vector3d)_normals[indices[first + 1]] * point.Barycentric.Y)
            + ((Vector3d)_normals[indices[first + 2]] * point.Barycentric.Z)).Normalized();
        return new(point, Mesh.Position(point), normal);
    }
}
