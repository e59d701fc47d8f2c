using System.Numerics;
using AutoPlace.Geometry;

namespace AutoPlace.Registration.Correcting;

/// <summary>The template's skin in the atlas and where it lies on a head: the way from one to the other for points of the skin.</summary>
internal sealed class AtlasSkin
{
    /// <summary>Cosine of the angle between two normals from which on skin counts as facing alike: in a slit the opposite wall doesn't.</summary>
    private const double Facing = 0.2;

    private readonly BoundingVolumeHierarchy _atlas;
    private readonly BoundingVolumeHierarchy _head;

    /// <summary>Prepares both ways.</summary>
    /// <param name="atlas">The template's skin, atlas coordinates.</param>
    /// <param name="onHead">The same triangles where they lie on the head, head frame.</param>
    public AtlasSkin(TriangleMesh atlas, TriangleMesh onHead)
    {
        _atlas = new BoundingVolumeHierarchy(atlas);
        _head = new BoundingVolumeHierarchy(onHead);
    }

    /// <summary>The place on the head of an atlas point of the skin, and the outward unit normal expected there.</summary>
    /// <param name="atlasPoint">Atlas point on or near the template's skin.</param>
    public (Vector3d Position, Vector3d Normal) ToHead(Vector3d atlasPoint)
    {
        SurfacePoint at = _atlas.ClosestPoint((Vector3)atlasPoint).Point;
        return (_head.Mesh.Position(at), Normal(_head.Mesh, at.Triangle));
    }

    /// <summary>The atlas point of a place on the head's skin.</summary>
    /// <param name="position">Position on the skin, head frame.</param>
    /// <param name="normal">Outward unit normal there.</param>
    public Vector3d ToAtlas(Vector3d position, Vector3d normal)
    {
        SurfaceProximity facing = _head.ClosestFacing((Vector3)position, normal, Facing);
        return _atlas.Mesh.Position((facing.IsFound ? facing : _head.ClosestPoint((Vector3)position)).Point);
    }

    private static Vector3d Normal(TriangleMesh mesh, int triangle)
    {
        (Vector3 a, Vector3 b, Vector3 c) = mesh.Corners(triangle);
        return Vector3d.Cross((Vector3d)b - a, (Vector3d)c - a).Normalized();
    }
}
