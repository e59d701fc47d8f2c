namespace AutoPlace.Geometry;

/// <summary>The point of a surface that lies nearest to a query point.</summary>
/// <param name="Point">Where it is on the mesh; the triangle is -1 when no point lies within reach.</param>
/// <param name="Position">The same point in space, in the mesh's frame.</param>
/// <param name="Distance">Distance from the query, in the mesh's unit; +infinity when there is none.</param>
public readonly record struct SurfaceProximity(SurfacePoint Point, Vector3d Position, double Distance)
{
    /// <summary>No point lies within reach.</summary>
    public static SurfaceProximity None => new(new SurfacePoint(-1, Vector3d.Zero), Vector3d.Zero, double.PositiveInfinity);

    /// <summary>True when there is such a point.</summary>
    public bool IsFound => Point.Triangle >= 0;
}
