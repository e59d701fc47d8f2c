using AutoPlace.Geometry;
using AutoPlace.Landmarks;
using AutoPlace.Template;

namespace AutoPlace.Registration.Correcting;

/// <summary>Finds out what a person corrected in a placement elsewhere.</summary>
public static class CorrectionDifferences
{
    /// <summary>Distance and angle by which a joint has to differ to count as corrected: ten times what writing and reading a placement loses.</summary>
    private const double LeastDistance = 1e-5, LeastAngleDegrees = 0.01;

    /// <summary>
    /// The corrections that turn the program's placement into another one. Joints that are marked as locked there come
    /// first; those that differ from where they follow to are locked as well, but for those that are where the program had
    /// them before a landmark was set: they follow the landmark.
    /// </summary>
    /// <param name="head">The head with the program's placement.</param>
    /// <param name="corrected">Joints as corrected elsewhere, head frame. Of joints that this lattice doesn't have, only locked ones are kept.</param>
    /// <param name="landmarks">Landmarks as corrected elsewhere, head frame; null for none.</param>
    public static Corrections Of(CorrectableHead head, IReadOnlyList<JointPlacement> corrected, IReadOnlyList<Landmark>? landmarks = null)
    {
        ArgumentNullException.ThrowIfNull(head);
        ArgumentNullException.ThrowIfNull(corrected);
        Corrections found = Moved(head, landmarks ?? []);
        CorrectableHead before = head;
        head = head.With(found);
        foreach (JointPlacement joint in corrected.Where(joint => joint.PositionLocked || joint.RotationLocked))
        {
            found = found.With(Locked(head, joint, found, joint.PositionLocked, joint.RotationLocked));
        }

        Dictionary<string, JointPlacement> followed = head.Solve(found).Joints.ToDictionary(joint => joint.Joint.Name, StringComparer.Ordinal);
        foreach (JointPlacement joint in corrected)
        {
            if (followed.TryGetValue(joint.Joint.Name, out JointPlacement? expected))
            {
                bool moved = HasMoved(expected, joint), turned = HasTurned(expected, joint);
                if (head != before && before.AutomaticJoint(joint.Joint.Name) is { } untouched && !HasMoved(untouched, joint) && !HasTurned(untouched, joint))
                {
                    continue;
                }

                found = moved || turned ? found.With(Locked(head, joint, found, moved, turned)) : found;
            }
        }

        return found;
    }

    private static bool HasMoved(JointPlacement from, JointPlacement to) => Vector3d.Distance(from.Position, to.Position) > LeastDistance;

    private static bool HasTurned(JointPlacement from, JointPlacement to) => Rotation3d.AngleDegrees(from.Rotation, to.Rotation) > LeastAngleDegrees;

    /// <summary>The landmarks that a person set elsewhere, marked as such or moved.</summary>
    /// <param name="head">The head with the program's placement.</param>
    /// <param name="landmarks">Landmarks as corrected elsewhere, head frame.</param>
    internal static Corrections Moved(CorrectableHead head, IReadOnlyList<Landmark> landmarks)
    {
        Corrections found = Corrections.None;
        foreach (Landmark landmark in landmarks)
        {
            bool moved = !IsImage(landmark) && head.Basis?.Seen.FirstOrDefault(l => l.Name == landmark.Name) is { } seen
                && (landmark.Source == LandmarkSource.Lock || Vector3d.Distance(seen.Position, landmark.Position) > LeastDistance);
            found = moved && head.Fixed(landmark.Name, landmark.Position) is { } set ? found.With(set) : found;
        }

        return found;

        // With a landmark that a person set on a symmetric head its mirror image was set.
        bool IsImage(Landmark landmark) => head.Basis?.IsSymmetric == true && landmark.Source != LandmarkSource.Lock && landmarks.Any(
            other => other.Source == LandmarkSource.Lock && other.Name == LandmarkNames.Mirror(landmark.Name)
                && Vector3d.Distance(MirroredPoints.Mirror(other.Position), landmark.Position) <= LeastDistance);
    }

    private static JointCorrection Locked(CorrectableHead head, JointPlacement joint, Corrections found, bool position, bool rotation)
    {
        string name = joint.Joint.Name;
        JointCorrection result = found.Joints.GetValueOrDefault(name) ?? new JointCorrection { Joint = name };
        if (position)
        {
            JointCorrection there = head.AutomaticJoint(name) is { } automatic
                ? head.Fixed(automatic with { Lift = joint.Lift }, joint.Position)
                : new JointCorrection { Joint = name, Position = joint.Position };

            // The lift that was written is what a person set, perhaps on another head; what is measured differs a little.
            double? lift = there.Lift is { } measured && Math.Abs(measured - joint.Lift) <= CorrectionFitting.SameLift ? joint.Lift : there.Lift;
            result = result with { Position = there.Position, AtlasPoint = there.AtlasPoint, Lift = lift };
        }

        return rotation ? result with { Rotation = joint.Rotation } : result;
    }
}
