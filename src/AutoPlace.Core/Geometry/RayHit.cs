namespace AutoPlace.Geometry;

/// <summary>Where a ray meets a surface.</summary>
/// <param name="Point">Where it is on the mesh; the triangle is -1 when the ray meets nothing.</param>
/// <param name="Position">The same point in space, in the mesh's frame.</param>
/// <param name="Parameter">Position along the ray, in lengths of its direction; +infinity when there is no hit.</param>
/// <param name="IsFrontFace">True when the ray comes from the side that the triangle's normal points to.</param>
public readonly record struct RayHit(SurfacePoint Point, Vector3d Position, double Parameter, bool IsFrontFace)
{
    /// <summary>The ray meets nothing.</summary>
    public static RayHit None => new(new SurfacePoint(-1, Vector3d.Zero), Vector3d.Zero, double.PositiveInfinity, false);

    /// <summary>True when the ray meets a triangle.</summary>
    public bool IsHit => Point.Triangle >= 0;
}
