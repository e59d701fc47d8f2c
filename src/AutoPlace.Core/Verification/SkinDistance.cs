using System.Numerics;
using AutoPlace.Geometry;

namespace AutoPlace.Verification;

/// <summary>
/// Signed distance from the skin, positive outside. The sign is that of the interpolated angle-weighted vertex normal
/// at the nearest point, which is right at edges and corners too (Baerentzen and Aanaes 2005). Pieces of skin whose
/// triangles wind the wrong way round are recognised (<see cref="MeshOrientation"/>).
/// </summary>
internal sealed class SkinDistance
{
    private readonly BoundingVolumeHierarchy? _hierarchy;
    private readonly Vector3[] _normals;

    /// <summary>Prepares the skin.</summary>
    /// <param name="skin">Triangles in any frame; distances are in its unit.</param>
    internal SkinDistance(BoundingVolumeHierarchy skin)
    {
        _hierarchy = skin.Mesh.TriangleCount > 0 ? skin : null;
        _normals = VertexNormals.AngleWeighted(skin.Mesh);
    }

    /// <summary>True when there is skin to measure to.</summary>
    internal bool IsKnown => _hierarchy is not null;

    /// <summary>1 where the triangles nearest to a point are counter-clockwise seen from outside, else -1; 1 when there is no skin.</summary>
    internal int OrientationAt(Vector3d point) =>
        _hierarchy is null ? 1 : Orientation(_hierarchy.ClosestPoint((Vector3)point).Point.Triangle);

    /// <summary>Signed distance of a point; 0 when there is no skin.</summary>
    internal double Signed(Vector3d point)
    {
        if (_hierarchy is null)
        {
            return 0;
        }

        SurfaceProximity nearest = _hierarchy.ClosestPoint((Vector3)point);
        ReadOnlySpan<int> corners = _hierarchy.Mesh.Indices.Slice(3 * nearest.Point.Triangle, 3);
        Vector3d weights = nearest.Point.Barycentric;
        Vector3d normal = ((Vector3d)_normals[corners[0]] * weights.X)
            + ((Vector3d)_normals[corners[1]] * weights.Y)
            + ((Vector3d)_normals[corners[2]] * weights.Z);
        double side = Vector3d.Dot(point - nearest.Position, normal) * Orientation(nearest.Point.Triangle);
        return side < 0 ? -nearest.Distance : nearest.Distance;
    }

    private int Orientation(int triangle) => _hierarchy!.Mesh.FacesOutward[triangle] ? 1 : -1;
}
