namespace AutoPlace.Geometry;

/// <summary>A point on a triangle mesh.</summary>
/// <param name="Triangle">Index of the triangle.</param>
/// <param name="Barycentric">Weights of the triangle's three corners, in [0, 1], with sum 1.</param>
public readonly record struct SurfacePoint(int Triangle, Vector3d Barycentric);
