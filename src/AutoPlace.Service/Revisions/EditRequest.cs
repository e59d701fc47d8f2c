using System.Text.Json.Serialization;

namespace AutoPlace.Service.Revisions;

/// <summary>Something that a person does to a placement. Positions in the head file's coordinates and unit, rotations (x, y, z, w) in its axes.</summary>
[JsonPolymorphic(TypeDiscriminatorPropertyName = "kind")]
[JsonDerivedType(typeof(MoveJointRequest), "moveJoint")]
[JsonDerivedType(typeof(TurnJointRequest), "turnJoint")]
[JsonDerivedType(typeof(LockJointRequest), "lockJoint")]
[JsonDerivedType(typeof(UnlockJointRequest), "unlockJoint")]
[JsonDerivedType(typeof(MirrorJointsRequest), "mirrorJoints")]
[JsonDerivedType(typeof(MoveLandmarkRequest), "moveLandmark")]
[JsonDerivedType(typeof(UnlockLandmarkRequest), "unlockLandmark")]
[JsonDerivedType(typeof(RowToLoopRequest), "rowToLoop")]
[JsonDerivedType(typeof(PivotToPartRequest), "pivotToPart")]
[JsonDerivedType(typeof(RestoreRequest), "restore")]
public abstract record EditRequest;

/// <summary>Moves a joint and locks its position.</summary>
/// <param name="Joint">Name of the joint.</param>
/// <param name="Position">Where to.</param>
/// <param name="AlongSkin">True to put a joint that rides on the skin onto it at its own lift.</param>
/// <param name="Influence">How far away joints of the region follow, file unit; null to go by what is usually wrong together.</param>
/// <param name="CarriesChildren">True to take the joints along that this one carries.</param>
public sealed record MoveJointRequest(string Joint, double[] Position, bool AlongSkin = false, double? Influence = null, bool CarriesChildren = false) : EditRequest;

/// <summary>Turns a joint and locks its rotation.</summary>
/// <param name="Joint">Name of the joint.</param>
/// <param name="Rotation">World rotation.</param>
public sealed record TurnJointRequest(string Joint, double[] Rotation) : EditRequest;

/// <summary>Locks a joint as it is.</summary>
/// <param name="Joint">Name of the joint.</param>
/// <param name="Position">True to lock its position.</param>
/// <param name="Rotation">True to lock its rotation.</param>
/// <param name="BodyRig">True when it belongs to the body rig and is never to be touched.</param>
public sealed record LockJointRequest(string Joint, bool Position = true, bool Rotation = false, bool BodyRig = false) : EditRequest;

/// <summary>Gives a joint back to the program.</summary>
/// <param name="Joint">Name of the joint.</param>
/// <param name="Position">True to unlock its position.</param>
/// <param name="Rotation">True to unlock its rotation.</param>
public sealed record UnlockJointRequest(string Joint, bool Position = true, bool Rotation = true) : EditRequest;

/// <summary>What mirroring goes by.</summary>
public enum MirrorBy
{
    /// <summary>The midsagittal plane.</summary>
    Plane,

    /// <summary>The mesh's connectivity.</summary>
    Topology,
}

/// <summary>Gives the twins of joints the mirror image and locks them there; what is locked already stays.</summary>
/// <param name="Joints">Names of the joints to mirror.</param>
/// <param name="By">What to go by.</param>
public sealed record MirrorJointsRequest(IReadOnlyList<string> Joints, MirrorBy By = MirrorBy.Plane) : EditRequest;

/// <summary>Puts a landmark where it belongs; the lattice is laid anew by it.</summary>
/// <param name="Landmark">Name of the landmark.</param>
/// <param name="Position">Where to.</param>
public sealed record MoveLandmarkRequest(string Landmark, double[] Position) : EditRequest;

/// <summary>Gives a landmark back to the program.</summary>
/// <param name="Landmark">Name of the landmark.</param>
public sealed record UnlockLandmarkRequest(string Landmark) : EditRequest;

/// <summary>Lays a row onto the modelled loop through the edge nearest to a point.</summary>
/// <param name="Row">Name of the row.</param>
/// <param name="Point">The point.</param>
public sealed record RowToLoopRequest(string Row, double[] Point) : EditRequest;

/// <summary>Moves a pivot to the centre of a piece of a part: the piece nearest to the point, or to the joint as it is.</summary>
/// <param name="Joint">Name of the joint.</param>
/// <param name="Part">Name of the part.</param>
/// <param name="Point">The point; null for the joint's position.</param>
public sealed record PivotToPartRequest(string Joint, string Part, double[]? Point = null) : EditRequest;

/// <summary>Brings the corrections of another revision back, exactly; alone in its list.</summary>
/// <param name="Revision">Number of the revision.</param>
public sealed record RestoreRequest(int Revision) : EditRequest;
