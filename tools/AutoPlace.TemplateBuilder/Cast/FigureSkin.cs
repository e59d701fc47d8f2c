using AutoPlace.Geometry;

namespace AutoPlace.TemplateBuilder.Cast;

/// <summary>A joint of a body.</summary>
/// <param name="Name">Name.</param>
/// <param name="Parent">Index of the parent, or -1.</param>
/// <param name="Position">Where it lies, atlas coordinates.</param>
internal sealed record BodyJoint(string Name, int Parent, Vector3d Position);

/// <summary>What a whole figure's mesh hangs on.</summary>
/// <param name="Joints">Joints, parents first.</param>
/// <param name="Weights">Up to four joints and weights, with sum 1, for a point of a part; atlas coordinates.</param>
internal sealed record FigureSkin(IReadOnlyList<BodyJoint> Joints, Func<string, Vector3d, (int Joint, double Weight)[]> Weights);
