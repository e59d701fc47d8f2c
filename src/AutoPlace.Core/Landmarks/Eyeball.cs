using AutoPlace.Geometry;

namespace AutoPlace.Landmarks;

/// <summary>An eyeball, as a sphere.</summary>
/// <param name="Centre">Centre, head frame, interocular distances.</param>
/// <param name="Radius">Radius, interocular distances.</param>
/// <param name="IsModelled">True when a ball or cap of the mesh was fitted; false when it was inferred from landmarks.</param>
/// <param name="CentreVariance">Variance of each coordinate of the centre, squared interocular distances.</param>
/// <param name="IsPlate">True when the mesh has a flat plate that the ball stands for: what it turns about, but not where an eye is seen.</param>
public sealed record Eyeball(Vector3d Centre, double Radius, bool IsModelled, double CentreVariance, bool IsPlate = false);
