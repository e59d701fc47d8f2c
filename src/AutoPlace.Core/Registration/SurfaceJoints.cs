using AutoPlace.Geometry;
using AutoPlace.Template;

namespace AutoPlace.Registration;

/// <summary>Joints that ride on the skin.</summary>
internal static class SurfaceJoints
{
    private const int LiftRounds = 8;

    /// <summary>How far along its normal a joint may look for skin that faces as expected, interocular distances; in a fold, where the wrong lip or lid is near, hardly.</summary>
    private const double Reach = 0.35, FoldReach = 0.06;

    /// <summary>Where the warp has the skin under a joint of it, and how it faces there.</summary>
    public static SkinTarget Expected(PreparedTemplate template, ControlJoint joint, HeadWarp warp)
    {
        Vector3d atlas = joint.SkinPoint!.Value;
        double lip = template.LipOf(joint);
        return new SkinTarget(warp.ApplyOnLip(atlas, lip), warp.Normal(atlas, template.SkinNormal(joint), lip, joint.InFold));
    }

    /// <summary>Puts a joint that was placed on the skin near another point of it, with all else as it was.</summary>
    public static JointPlacement Moved(JointPlacement joint, SkinTarget expected, SkinSurface skin) =>
        Place(joint.Joint, expected, skin, joint.LocalSize) with { Radius90 = joint.Radius90 };

    /// <summary>
    /// Puts a joint on the skin near an expected point, lifted by its own lift in the region's size; where the skin ends
    /// before it the joint stays where it is expected.
    /// </summary>
    public static JointPlacement Place(ControlJoint joint, SkinTarget expected, SkinSurface skin, double localSize)
    {
        SkinPlace place = skin.Project(expected.Position, expected.Normal, ReachOf(joint));
        double lift = joint.Lift * localSize;
        bool onSkin = joint.InFold || !skin.EndsBefore(expected.Position, place);
        return new JointPlacement
        {
            Joint = joint,
            Position = onSkin ? Lift(place, lift, joint.InFold) : expected.Position + (expected.Normal * lift),
            Rotation = joint.Rotation,
            State = onSkin && place.Skin == skin ? JointState.Modelled : JointState.Inferred,
            LocalSize = localSize,
            Lift = lift,
            Radius90 = 0,
            SkinPoint = onSkin ? place.Point : null,
        };
    }

    /// <summary>How far a joint may look for skin that faces as expected, interocular distances.</summary>
    public static double ReachOf(ControlJoint joint) => joint.InFold ? FoldReach : Reach;

    /// <summary>
    /// Raises a joint along its normal until the skin around it is the intended distance away. A joint in a fold is
    /// judged against its own patch alone.
    /// </summary>
    public static Vector3d Lift(SkinPlace place, double lift, bool inFold)
    {
        Vector3d position = place.Position + (place.Normal * lift);
        for (int round = 0; round < LiftRounds && !inFold; round++)
        {
            double missing = lift - place.Skin.Clearance(position, place);
            if (Math.Abs(missing) < 1e-4)
            {
                break;
            }

            position += place.Normal * missing;
        }

        return position;
    }
}
