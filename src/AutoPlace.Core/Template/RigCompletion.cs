using AutoPlace.Geometry;

namespace AutoPlace.Template;

/// <summary>
/// Completes a rig that was fitted on one side only: where no joint lies on the other side and every name tells what its twin
/// is called, each joint gets its mirror image, its frame mirrored so that x keeps running along the row through the midline.
/// </summary>
internal static class RigCompletion
{
    /// <summary>Completes a rig, or says why it isn't.</summary>
    /// <param name="joints">The joints, parents first; head frame, interocular distances.</param>
    /// <param name="plane">The mirror plane.</param>
    /// <param name="notes">Receives what a person should know.</param>
    /// <returns>The joints, the new ones last.</returns>
    public static IReadOnlyList<RigJoint> Complete(IReadOnlyList<RigJoint> joints, RigPlane plane, List<string> notes)
    {
        Side[] sides = [.. joints.Select(joint => RigSides.Of(plane.Along(joint.Position)))];
        int left = sides.Count(side => side == Side.Left), right = sides.Count(side => side == Side.Right);
        if (left + right == 0 || (left > 0 && right > 0))
        {
            return joints;
        }

        string side = left > 0 ? "left" : "right";
        var taken = joints.Select(joint => joint.Name).ToHashSet(StringComparer.Ordinal);
        var twins = new Dictionary<string, string>(StringComparer.Ordinal);
        for (int i = 0; i < sides.Length; i++)
        {
            string name = joints[i].Name;
            IReadOnlyList<string> mirrored = sides[i] == Side.Middle ? [] : RigNames.Mirrored(name);
            if (sides[i] != Side.Middle && (mirrored.Count != 1 || !taken.Add(mirrored[0])))
            {
                notes.Add($"all joints lie on the {side} side or the midline, but the name '{name}' doesn't tell what its twin would be called: the rig was not completed");
                return joints;
            }

            if (mirrored.Count == 1)
            {
                twins.Add(name, mirrored[0]);
            }
        }

        notes.Add($"all joints lie on the {side} side or the midline: {twins.Count} were added on the other side as mirror images");
        return [.. joints, .. joints.Where(joint => twins.ContainsKey(joint.Name)).Select(Mirrored)];

        RigJoint Mirrored(RigJoint joint) => joint with
        {
            Name = twins[joint.Name],
            Parent = joint.Parent is { } parent ? twins.GetValueOrDefault(parent, parent) : null,
            Position = plane.Image(joint.Position),
            Rotation = Rotation3d.FromMatrix(
                (Matrix3d.Identity + (Matrix3d.Outer(plane.Normal, plane.Normal) * -2)) * joint.Rotation.ToMatrix() * Matrix3d.Diagonal(-1, 1, 1)),
        };
    }
}
