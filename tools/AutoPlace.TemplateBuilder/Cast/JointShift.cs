using AutoPlace.Geometry;

namespace AutoPlace.TemplateBuilder.Cast;

/// <summary>A change of one side only, by a known amount.</summary>
/// <param name="Joint">The joint at which it is strongest.</param>
/// <param name="Move">How far that place moves, atlas coordinates and unit.</param>
/// <param name="Radius">Standard deviation of the Gaussian by which it fades out.</param>
internal sealed record JointShift(string Joint, Vector3d Move, double Radius);
