using System.Numerics;
using AutoPlace.Geometry;

namespace AutoPlace.TemplateBuilder.Sources;

/// <summary>A point of a skin.</summary>
/// <param name="Point">The point, atlas coordinates.</param>
/// <param name="Normal">Interpolated unit normal of the skin there.</param>
/// <param name="BroadNormal">Unit normal of the skin round about, in which folds cancel out.</param>
internal readonly record struct SkinContact(Vector3d Point, Vector3d Normal, Vector3d BroadNormal);

/// <summary>A surface that points can be laid on.</summary>
internal sealed class SkinSurface
{
    private readonly Vector3[] _normals;
    private readonly BoundingVolumeHierarchy _index;

    public SkinSurface(TriangleMesh mesh)
    {
        Mesh = mesh;
        _normals = VertexNormals.AngleWeighted(mesh);
        _index = new BoundingVolumeHierarchy(mesh);
    }

    /// <summary>The triangles, atlas coordinates.</summary>
    public TriangleMesh Mesh { get; }

    /// <summary>The nearest point of the surface.</summary>
    public SkinContact Closest(Vector3d query) => At(_index.ClosestPoint((Vector3)query).Point);

    /// <summary>The first hit of a ray that comes from outside along <paramref name="direction"/> (of length 1) through <paramref name="point"/>, or null.</summary>
    public SkinContact? FromOutside(Vector3d point, Vector3d direction)
    {
        const double Far = 10;
        RayHit hit = _index.CastRay((Vector3)(point - (direction * Far)), (Vector3)direction);
        return hit.IsHit ? At(hit.Point) : null;
    }

    private SkinContact At(SurfacePoint point)
    {
        int first = 3 * point.Triangle;
        ReadOnlySpan<int> indices = Mesh.Indices;
        Vector3d normal = ((Vector3d)_normals[indices[first]] * point.Barycentric.X)
            + ((Vector3d)_normals[indices[first + 1]] * point.Barycentric.Y)
            + ((Vector3d)_normals[indices[first + 2]] * point.Barycentric.Z);
        Vector3d position = Mesh.Position(point);
        return new SkinContact(position, normal.Normalized(), BroadNormal(position));
    }

    // The sum of vector areas round the point: what a fold adds on one side it takes away on the other.
    private Vector3d BroadNormal(Vector3d point)
    {
        const double Radius = 0.15;
        Vector3d sum = Vector3d.Zero;
        for (int t = 0; t < Mesh.TriangleCount; t++)
        {
            (Vector3 a, Vector3 b, Vector3 c) = Mesh.Corners(t);
            double distance = Vector3d.Distance((Vector3d)(a + b + c) / 3, point) / Radius;
            if (distance < 1)
            {
                double weight = 1 - (distance * distance);
                sum += (Vector3d)Vector3.Cross(b - a, c - a) * (weight * weight);
            }
        }

        return sum.Normalized();
    }
}
