using System.Numerics;
using AutoPlace.Geometry;

namespace AutoPlace.Registration;

/// <summary>A place on the skin.</summary>
/// <param name="Skin">The skin: what is in sight, or what is covered.</param>
/// <param name="Point">Triangle of the whole scan and barycentric weights.</param>
/// <param name="Position">Position, head frame, interocular distances.</param>
/// <param name="Normal">Interpolated unit normal.</param>
public readonly record struct SkinPlace(SkinSurface Skin, SurfacePoint Point, Vector3d Position, Vector3d Normal);

/// <summary>The head's skin, prepared for putting joints on it.</summary>
public sealed class SkinSurface
{
    /// <summary>Cosine of the largest angle between the expected normal and that of a triangle: a triangle that faces sideways belongs to either side of a slit.</summary>
    internal const double NormalAgreement = 0.35;

    /// <summary>From how far under an expected point to how far above it something covers it, interocular distances: a beard, a hat.</summary>
    private const double CoverBelow = 0.05, CoverAbove = 0.6;

    /// <summary>What is expected farther than this beyond where the skin ends isn't there, interocular distances: twice what a joint of the cranium is off by where it is seen.</summary>
    private const double PastTheEnd = 0.15;

    /// <summary>Barycentric weight below which a point lies on the edge opposite: rounding of single precision.</summary>
    private const double OnEdge = 1e-3;

    private readonly int[] _sourceTriangles;
    private readonly Vector3[] _normals;
    private readonly Lazy<MeshAdjacency> _adjacency;

    // Skin out of sight, and what isn't skin; null without any.
    private readonly SkinSurface? _covered;
    private readonly BoundingVolumeHierarchy? _covers;

    private SkinSurface(
        BoundingVolumeHierarchy hierarchy, int[] sourceTriangles, SkinSurface? covered = null, BoundingVolumeHierarchy? covers = null)
    {
        Hierarchy = hierarchy;
        _sourceTriangles = sourceTriangles;
        (_covered, _covers) = (covered, covers);
        _normals = Geometry.VertexNormals.AngleWeighted(hierarchy.Mesh);
        _adjacency = new(() => new MeshAdjacency(hierarchy.Mesh));
    }

    /// <summary>Prepares the skin of a head.</summary>
    /// <param name="headMesh">The whole scan, head frame, interocular distances.</param>
    /// <param name="skinTriangles">Indices of those of its triangles that are skin in sight; at least one.</param>
    /// <param name="coveredTriangles">Indices of those that are skin out of sight.</param>
    /// <param name="elsewhere">Hierarchy of the skin in sight in any frame, in the same order; null to build one.</param>
    public static SkinSurface Of(
        TriangleMesh headMesh, int[] skinTriangles, int[] coveredTriangles, BoundingVolumeHierarchy? elsewhere = null)
    {
        ArgumentNullException.ThrowIfNull(headMesh);
        ArgumentNullException.ThrowIfNull(skinTriangles);
        ArgumentNullException.ThrowIfNull(coveredTriangles);
        TriangleMesh skin = headMesh.Subset(skinTriangles);
        BoundingVolumeHierarchy hierarchy = elsewhere?.Refitted(skin) ?? new BoundingVolumeHierarchy(skin);
        int[] others = coveredTriangles.Length > 0 ? Others(headMesh.TriangleCount, skinTriangles, coveredTriangles) : [];
        return others.Length == 0
            ? new SkinSurface(hierarchy, skinTriangles)
            : new SkinSurface(
                hierarchy,
                skinTriangles,
                new SkinSurface(new BoundingVolumeHierarchy(headMesh.Subset(coveredTriangles)), coveredTriangles),
                new BoundingVolumeHierarchy(headMesh.Subset(others)));
    }

    /// <summary>Nearest points and rays on the skin.</summary>
    public BoundingVolumeHierarchy Hierarchy { get; }

    /// <summary>The skin, head frame, interocular distances.</summary>
    public TriangleMesh Mesh => Hierarchy.Mesh;

    /// <summary>V unit normals of the skin alone; those of other vertices mean nothing.</summary>
    internal ReadOnlySpan<Vector3> VertexNormals => _normals;

    /// <summary>
    /// The place on the skin for an expected point: the nearest one where the skin faces as expected, so that in a slit
    /// the opposite lip or lid doesn't count; where none does within reach, the nearest one all the same. Under a beard,
    /// hair or a hat the skin that these cover counts as well.
    /// </summary>
    /// <param name="expected">Expected point.</param>
    /// <param name="normal">Expected unit outward normal.</param>
    /// <param name="reach">How far to look, interocular distances.</param>
    public SkinPlace Project(Vector3d expected, Vector3d normal, double reach)
    {
        SkinPlace nearest = Place(Hierarchy.ClosestPoint((Vector3)expected).Point);
        SkinPlace? facing = Vector3d.Dot(nearest.Normal, normal) >= NormalAgreement ? nearest : Facing(expected, normal, reach);
        SkinPlace inSight = facing ?? nearest;
        return IsCovered(expected, normal)
            ? _covered!.Facing(expected, normal, Vector3d.Distance(inSight.Position, expected)) ?? inSight
            : inSight;
    }

    // Both kinds of skin are parts of one surface: where something covers it, the nearest of either moves on smoothly.
    private bool IsCovered(Vector3d expected, Vector3d normal) =>
        _covers?.MeetsRay((Vector3)(expected - (normal * CoverBelow)), (Vector3)normal, (float)(CoverBelow + CoverAbove)) == true;

    private static int[] Others(int triangles, int[] skin, int[] covered)
    {
        bool[] isSkin = new bool[triangles];
        foreach (int t in skin.Concat(covered))
        {
            isSkin[t] = true;
        }

        return [.. Enumerable.Range(0, triangles).Where(t => !isSkin[t])];
    }

    /// <summary>The nearest place on the skin in sight, whichever way it faces; null when there is none within reach.</summary>
    /// <param name="point">Point, head frame.</param>
    /// <param name="reach">How far to look, interocular distances.</param>
    public SkinPlace? Nearest(Vector3d point, double reach)
    {
        SurfaceProximity near = Hierarchy.ClosestPoint((Vector3)point, (float)reach);
        return near.IsFound ? Place(near.Point) : null;
    }

    // The nearest point of the triangles that face as expected, or null.
    private SkinPlace? Facing(Vector3d expected, Vector3d normal, double reach)
    {
        SurfaceProximity near = Hierarchy.ClosestFacing((Vector3)expected, normal, NormalAgreement, (float)reach);
        return near.IsFound ? Place(near.Point) : null;
    }

    /// <summary>True where the skin ends before an expected point: a mask, a scan that is open on top, a cut neck.</summary>
    /// <param name="expected">The point.</param>
    /// <param name="place">The place on the skin that was found for it.</param>
    public bool EndsBefore(Vector3d expected, SkinPlace place)
    {
        if (place.Skin != this || Vector3d.Distance(expected, place.Position) <= PastTheEnd)
        {
            return false;
        }

        SurfacePoint point = Hierarchy.ClosestPoint((Vector3)place.Position).Point;
        ReadOnlySpan<int> corners = Mesh.Indices.Slice(3 * point.Triangle, 3);
        ReadOnlySpan<double> weights = [point.Barycentric.X, point.Barycentric.Y, point.Barycentric.Z];
        bool onEdge = false;
        for (int i = 0; i < 3; i++)
        {
            onEdge |= weights[i] < OnEdge;
            if (weights[i] >= OnEdge && !_adjacency.Value.IsBorderVertex(corners[i]))
            {
                return false;
            }
        }

        return onEdge;
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
        return new(this, point with { Triangle = _sourceTriangles[point.Triangle] }, Mesh.Position(point), normal);
    }
}
