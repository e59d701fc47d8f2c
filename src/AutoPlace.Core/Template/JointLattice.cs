using AutoPlace.Geometry;

namespace AutoPlace.Template;

/// <summary>What a joint is for.</summary>
public enum JointKind
{
    /// <summary>Rides on the skin, lifted by its own signed lift.</summary>
    Surface,

    /// <summary>Inside the head; something turns about it.</summary>
    Pivot,

    /// <summary>Carries a whole row.</summary>
    RowParent,

    /// <summary>Where something foreign attaches.</summary>
    Attachment,

    /// <summary>Anything else that comes along.</summary>
    Other,
}

/// <summary>Side of the body, the subject's own.</summary>
public enum Side
{
    /// <summary>The subject's left.</summary>
    Left,

    /// <summary>The subject's right.</summary>
    Right,

    /// <summary>On the midsagittal plane.</summary>
    Middle,
}

/// <summary>What a joint keeps its place to.</summary>
public enum Ride
{
    /// <summary>A point of the skin, with signed lift.</summary>
    Skin,

    /// <summary>Both eyes: so many interocular distances from the point between their centres, along the head's axes.</summary>
    Eyes,

    /// <summary>The left eyeball's fit (centre and radius).</summary>
    EyeballLeft,

    /// <summary>The right eyeball's fit.</summary>
    EyeballRight,

    /// <summary>The upper dental arch (moves with the skull).</summary>
    TeethUpper,

    /// <summary>The lower dental arch (moves with the jaw).</summary>
    TeethLower,

    /// <summary>The tongue.</summary>
    Tongue,

    /// <summary>The hinge rule (tragus and outer canthus).</summary>
    JawHinge,

    /// <summary>Inside the head, by the warp of the whole head.</summary>
    Inner,
}

/// <summary>How a joint's rotation follows.</summary>
public enum RotationPolicy
{
    /// <summary>The world (head-frame) rotation stays.</summary>
    KeepWorld,

    /// <summary>The rotation relative to the parent stays.</summary>
    KeepLocal,

    /// <summary>Turns as the skin under it turns.</summary>
    TurnWithSkin,

    /// <summary>One axis points at another joint, a second one up.</summary>
    Aim,
}

/// <summary>One joint of a lattice, on the template's own head.</summary>
public sealed record ControlJoint
{
    /// <summary>Unique name; in the built-in lattice snake_case anatomy with <c>_left</c>, <c>_right</c> or nothing.</summary>
    public required string Name { get; init; }

    /// <summary>Region of the face, or null where a rig doesn't say.</summary>
    public string? Region { get; init; }

    /// <summary>Side, or null where a rig doesn't say.</summary>
    public Side? Side { get; init; }

    /// <summary>What the joint is for.</summary>
    public required JointKind Kind { get; init; }

    /// <summary>Name of the parent joint, or null for a root. Parents come before their children.</summary>
    public string? Parent { get; init; }

    /// <summary>Position on the template's head: atlas coordinates (head frame, interocular distances).</summary>
    public required Vector3d Position { get; init; }

    /// <summary>World rotation on the template's head, head frame.</summary>
    public Rotation3d Rotation { get; init; } = Rotation3d.Identity;

    /// <summary>What the joint keeps its place to.</summary>
    public required Ride Ride { get; init; }

    /// <summary>Signed distance from the skin in interocular distances, positive outside; 0 for joints that don't ride on the skin.</summary>
    public double Lift { get; init; }

    /// <summary>
    /// For joints that ride on the skin: the point of the template's skin under the joint, atlas coordinates. Null
    /// otherwise.
    /// </summary>
    public Vector3d? SkinPoint { get; init; }

    /// <summary>How the rotation follows.</summary>
    public RotationPolicy RotationPolicy { get; init; } = RotationPolicy.KeepWorld;

    /// <summary>
    /// For <see cref="RotationPolicy.Aim"/>: name of the joint aimed at. The direction to it keeps its place among the
    /// joint's own axes; about that direction the joint stays as near to the template's up as it can. Null otherwise.
    /// </summary>
    public string? AimTarget { get; init; }

    /// <summary>
    /// Name of the joint that is this one's mirror image on the other side, or null where the name says it
    /// (<c>_left</c>, <c>_right</c>) or there is none. Twins name each other.
    /// </summary>
    public string? Twin { get; init; }

    /// <summary>Name of the group of joints that keep their shape as one rigid thing (a pair of glasses), or null.</summary>
    public string? RigidGroup { get; init; }

    /// <summary>True where the joint sits in a fold (lid margin, lip contact, commissure, nostril) and is judged against its own patch of skin.</summary>
    public bool InFold { get; init; }
}

/// <summary>Joints in sequence across (row) or down (column) the face.</summary>
/// <param name="Name">Unique name.</param>
/// <param name="Joints">Names of the joints, in order.</param>
/// <param name="Closed">True when the last joint is followed by the first.</param>
public sealed record JointSequence(string Name, IReadOnlyList<string> Joints, bool Closed = false);

/// <summary>The net of joints that is laid over and into a head.</summary>
/// <param name="Joints">All joints, parents before children.</param>
/// <param name="Rows">Sequences across the face.</param>
/// <param name="Columns">Sequences down the face.</param>
public sealed record JointLattice(
    IReadOnlyList<ControlJoint> Joints,
    IReadOnlyList<JointSequence> Rows,
    IReadOnlyList<JointSequence> Columns);
