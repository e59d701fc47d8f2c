using AutoPlace.Geometry;

namespace AutoPlace.Template;

/// <summary>How a joint's rotation follows, with the joint that it aims at, if it aims.</summary>
/// <param name="Policy">The policy.</param>
/// <param name="AimTarget">Name of the joint aimed at, for <see cref="RotationPolicy.Aim"/>.</param>
internal readonly record struct Turning(RotationPolicy Policy, string? AimTarget = null);

/// <summary>
/// Tells from how a joint is turned what its rotation follows: along the head's axes it stays; with an axis that points at a
/// child or an aim target it aims; as its parent is turned, it goes with the parent; else on the skin it turns with that.
/// </summary>
internal static class RotationInference
{
    /// <summary>Angles within which an axis counts as pointing along the head's axes, or at a joint: as files round (own choice).</summary>
    private const double AlongAxesDegrees = 0.5, AimDegrees = 0.1;

    /// <summary>A joint nearer than this tells no direction, interocular distances.</summary>
    private const double NearestTarget = 0.01;

    /// <summary>Infers the policy of one joint.</summary>
    /// <param name="joint">The joint.</param>
    /// <param name="ride">How it rides.</param>
    /// <param name="parent">Its parent, or null.</param>
    /// <param name="targets">Joints that it may aim at: its children, and nodes that are no joints; the likelier first.</param>
    /// <param name="inFile">Its rotation in the file's axes: along these is as good as along the head's.</param>
    public static Turning Of(RigJoint joint, Ride ride, RigJoint? parent, IEnumerable<RigJoint> targets, Rotation3d inFile)
    {
        Matrix3d axes = joint.Rotation.ToMatrix();
        if (AlongAxes(axes) || AlongAxes(inFile.ToMatrix()))
        {
            return new Turning(RotationPolicy.KeepWorld);
        }

        RigJoint? target = targets.FirstOrDefault(other => IsAimedAt(axes, other.Position - joint.Position));
        if (target is not null)
        {
            return new Turning(RotationPolicy.Aim, target.Name);
        }

        bool asParent = parent is not null && Rotation3d.AngleDegrees(parent.Rotation, joint.Rotation) < AimDegrees;
        return new Turning(asParent ? RotationPolicy.KeepLocal : ride == Ride.Skin ? RotationPolicy.TurnWithSkin : RotationPolicy.KeepWorld);
    }

    // Each axis of the joint along one of the head's, either way.
    private static bool AlongAxes(Matrix3d axes)
    {
        double least = Math.Cos(AlongAxesDegrees * Math.PI / 180);
        return Along(axes.Row0) && Along(axes.Row1) && Along(axes.Row2);

        bool Along(Vector3d row) => Math.Max(Math.Abs(row.X), Math.Max(Math.Abs(row.Y), Math.Abs(row.Z))) >= least;
    }

    private static bool IsAimedAt(Matrix3d axes, Vector3d direction)
    {
        if (direction.Length < NearestTarget)
        {
            return false;
        }

        Vector3d own = axes.Transposed() * direction.Normalized();
        double along = Math.Max(Math.Abs(own.X), Math.Max(Math.Abs(own.Y), Math.Abs(own.Z)));
        return Math.Acos(Math.Min(along, 1)) * (180 / Math.PI) < AimDegrees;
    }
}
