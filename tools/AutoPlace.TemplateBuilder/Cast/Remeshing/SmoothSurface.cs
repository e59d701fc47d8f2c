using System.Numerics;
using AutoPlace.Geometry;

namespace AutoPlace.TemplateBuilder.Cast.Remeshing;

/// <summary>
/// The rounded surface that a mesh stands for: a point of a triangle is drawn towards the planes through the corners
/// that their normals span (Boubekeur and Alexa 2008, "Phong tessellation", equation 2).
/// </summary>
internal sealed class SmoothSurface
{
    // Half of the way: all of it bulges over creases.
    private const double Roundness = 0.5;

    // Cosine between the normals, at least: else the nearest point belongs to the other side of a fold.
    private const double LeastAgreement = 0.3;

    private readonly TriangleMesh _mesh;
    private readonly Vector3[] _normals;
    private readonly BoundingVolumeHierarchy _index;

    public SmoothSurface(TriangleMesh mesh)
    {
        _mesh = mesh;
        _normals = VertexNormals.AngleWeighted(mesh);
        _index = new BoundingVolumeHierarchy(mesh);
    }

    /// <summary>The nearest point of the surface, or null when the surface faces elsewhere there.</summary>
    public Vector3d? Near(Vector3d query, Vector3d normal)
    {
        SurfacePoint point = _index.ClosestPoint((Vector3)query).Point;
        Vector3d on = _mesh.Position(point);
        Vector3d facing = Vector3d.Zero, rounded = Vector3d.Zero;
        for (int i = 0; i < 3; i++)
        {
            int corner = _mesh.Indices[(3 * point.Triangle) + i];
            Vector3d cornerNormal = _normals[corner];
            double weight = point.Barycentric[i];
            facing += cornerNormal * weight;
            rounded += (on - (cornerNormal * Vector3d.Dot(on - _mesh.Positions[corner], cornerNormal))) * weight;
        }

        return Vector3d.Dot(facing.Normalized(), normal) < LeastAgreement ? null : Vector3d.Lerp(on, rounded, Roundness);
    }
}
