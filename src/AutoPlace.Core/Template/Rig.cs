using AutoPlace.Geometry;

namespace AutoPlace.Template;

/// <summary>One joint, or another node, of a rig as its file has it.</summary>
/// <param name="Name">Unique name, kept as it is.</param>
/// <param name="Parent">Name of the parent, an earlier joint of the rig, or null for a root.</param>
/// <param name="Position">World position.</param>
/// <param name="Rotation">World rotation.</param>
/// <param name="IsJoint">False for a node that comes along without being a joint: an aim target, an up marker.</param>
public sealed record RigJoint(string Name, string? Parent, Vector3d Position, Rotation3d Rotation, bool IsJoint = true);

/// <summary>A studio's own rig, fitted to a head: joints in the coordinates of the head's file.</summary>
/// <param name="Source">Name of its file as the user gave it, for messages.</param>
/// <param name="Joints">The joints, parents before children, else in the file's order.</param>
/// <param name="Notes">What a person should know of how it was read.</param>
public sealed record Rig(string Source, IReadOnlyList<RigJoint> Joints, IReadOnlyList<string> Notes);
