using System.Numerics;
using AutoPlace.Geometry;
using AutoPlace.Template;

namespace AutoPlace.Registration.Correcting;

/// <summary>How joints of a placed lattice sit on a head's skin, and how they are moved along it.</summary>
/// <param name="skin">The skin, head frame.</param>
/// <param name="headMesh">The mesh that <see cref="JointPlacement.SkinPoint"/> refers to.</param>
internal sealed class SkinRide(SkinSurface skin, TriangleMesh headMesh)
{
    /// <summary>Farthest that a position may be from the normal of the place under it, interocular distances (own choice: a third of a lift in the folds of the built-in lattice).</summary>
    private const double OnNormal = 1e-3;

    /// <summary>Most steps of a search for the place under a joint in a fold, and after how many the normal only turns by half.</summary>
    private const int FootRounds = 16, FullTurns = 3;

    /// <summary>Directions that such a search begins with besides the joint's own: in a corner the normal may be any.</summary>
    private static readonly Vector3d[] AllRound =
        [Vector3d.UnitX, -Vector3d.UnitX, Vector3d.UnitY, -Vector3d.UnitY, Vector3d.UnitZ, -Vector3d.UnitZ];

    /// <summary>The place on the skin under a joint as the program placed it.</summary>
    public SkinPlace Under(JointPlacement joint)
    {
        if (joint.SkinPoint is not { } point)
        {
            return skin.Nearest(joint.Position, double.PositiveInfinity)!.Value;
        }

        (Vector3 a, Vector3 b, Vector3 c) = headMesh.Corners(point.Triangle);
        Vector3d normal = Vector3d.Cross((Vector3d)b - a, (Vector3d)c - a).Normalized();
        return Facing(joint, headMesh.Position(point), normal);
    }

    /// <summary>The place on the skin under a position that a joint gets; skin that faces as the joint's own does comes first.</summary>
    public SkinPlace Under(JointPlacement joint, Vector3d position) =>
        Facing(joint, position, Under(joint).Normal);

    /// <summary>
    /// The place on the skin that a position is lifted from: the nearest, but for a joint in a fold, to which another patch than its
    /// own may be nearer, the one along whose normal it lies there: at the joint's lift, or as far from its own patch as it may be.
    /// </summary>
    /// <param name="joint">The joint as the program placed it, with the lift that is looked for.</param>
    /// <param name="position">The position.</param>
    public SkinPlace LiftedFrom(JointPlacement joint, Vector3d position) =>
        (joint.Joint.InFold ? Foot(joint, position) : null) ?? Under(joint, position);

    /// <summary>
    /// The point of the skin that a joint is meant to lie on at a position: the one that it is lifted from, or, where no skin near
    /// it faces as the joint's own does, that of the joint as the program placed it.
    /// </summary>
    /// <param name="joint">The joint as the program placed it, with the lift that is looked for.</param>
    /// <param name="position">The position.</param>
    public SurfacePoint? MeantAt(JointPlacement joint, Vector3d position)
    {
        if (joint.Joint.InFold && Foot(joint, position) is { } foot)
        {
            return foot.Point;
        }

        Vector3d normal = Under(joint).Normal;
        SkinPlace there = Facing(joint, position, normal);
        return Vector3d.Dot(there.Normal, normal) >= SkinSurface.NormalAgreement && Vector3d.Distance(there.Position, position) <= SurfaceJoints.ReachOf(joint.Joint)
            ? there.Point
            : joint.SkinPoint;
    }

    /// <summary>The place on the skin for a joint that is expected at a position, where the skin has a given normal.</summary>
    public SkinPlace Facing(JointPlacement joint, Vector3d position, Vector3d normal) =>
        skin.Project(position, normal, SurfaceJoints.ReachOf(joint.Joint));

    /// <summary>Signed distance of a position from the skin under it.</summary>
    public static double Lift(JointPlacement joint, SkinPlace under, Vector3d position) => joint.Joint.InFold
        ? Vector3d.Dot(position - under.Position, under.Normal)
        : under.Skin.Clearance(position, under);

    /// <summary>The position over a place on the skin with a lift.</summary>
    public static Vector3d Over(JointPlacement joint, SkinPlace under, double lift) => SurfaceJoints.Lift(under, lift, joint.Joint.InFold);

    /// <summary>
    /// A joint displaced along the skin: it keeps its lift and turns as the skin under it turns. A small displacement
    /// changes little, also where the joint didn't lie at its lift before.
    /// </summary>
    public JointPlacement Slid(JointPlacement joint, Vector3d displacement)
    {
        SkinPlace before = Under(joint);
        SkinPlace after = Facing(joint, before.Position + displacement, before.Normal);
        return joint with
        {
            Position = joint.Position + (Over(joint, after, joint.Lift) - Over(joint, before, joint.Lift)),
            Rotation = Turned(joint, before.Normal, after.Normal),
            SkinPoint = after.Point,
        };
    }

    /// <summary>A joint at a position that a person chose.</summary>
    /// <param name="joint">The joint as the program placed it.</param>
    /// <param name="position">The position.</param>
    /// <param name="lift">The lift that goes with it; null for what it has there.</param>
    public JointPlacement At(JointPlacement joint, Vector3d position, double? lift)
    {
        SkinPlace before = Under(joint), after = LiftedFrom(joint with { Lift = lift ?? joint.Lift }, position);
        return joint with
        {
            Position = position,
            Rotation = Turned(joint, before.Normal, after.Normal),
            Lift = lift ?? Lift(joint, after, position),
            SkinPoint = after.Point,
        };
    }

    // The place along whose normal a position lies, at a joint's lift or, failing that, wherever the joint's own patch leads to; null without one.
    private SkinPlace? Foot(JointPlacement joint, Vector3d position)
    {
        SkinPlace own = Under(joint), nearest = Under(joint, position);
        foreach (Vector3d normal in (Vector3d[])[own.Normal, nearest.Normal, .. AllRound])
        {
            if (Foot(joint, position, joint.Lift, own with { Normal = normal }) is { } atLift)
            {
                return atLift;
            }
        }

        return Foot(joint, position, null, own) ?? Foot(joint, position, null, nearest);
    }

    // By turns the skin under the end of the normal, and the normal there.
    private SkinPlace? Foot(JointPlacement joint, Vector3d position, double? lift, SkinPlace at)
    {
        (SkinPlace? found, double least) = (null, OnNormal);
        Vector3d normal = at.Normal;
        for (int round = 0; round < FootRounds; round++)
        {
            at = Facing(joint, position - (normal * (lift ?? Vector3d.Dot(position - at.Position, normal))), normal);
            double off = Vector3d.Distance(at.Position + (at.Normal * (lift ?? Vector3d.Dot(position - at.Position, at.Normal))), position);
            (found, least) = off < least ? (at, off) : (found, least);
            normal = round < FullTurns ? at.Normal : (normal + at.Normal).Normalized();
        }

        return found;
    }

    // By the smallest rotation that takes one normal to the other.
    private static Rotation3d Turned(JointPlacement joint, Vector3d from, Vector3d to)
    {
        Vector3d axis = Vector3d.Cross(from, to);
        double w = 1 + Vector3d.Dot(from, to);
        return joint.Joint.RotationPolicy != RotationPolicy.TurnWithSkin || w < 1e-6 || axis == Vector3d.Zero
            ? joint.Rotation
            : (new Rotation3d(axis.X, axis.Y, axis.Z, w).Normalized() * joint.Rotation).Normalized();
    }
}
