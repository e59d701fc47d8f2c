namespace AutoPlace.Template;

/// <summary>
/// What every lattice must obey, whoever made it: unique names, parents that exist and come before their children,
/// rows and columns of existing joints, skin points where a joint rides on the skin.
/// </summary>
public static class LatticeRules
{
    /// <summary>Joints that a rig has at least and at most; nodes that only come along don't count (own choice: fewer tell nothing of a face, more are no face's).</summary>
    private const int FewestJoints = 10, MostJoints = 600;

    /// <summary>Checks a template's lattice.</summary>
    /// <param name="file">Name of the file, for messages.</param>
    /// <param name="template">The template.</param>
    /// <exception cref="TemplateFormatException">A rule is broken; the message names the joint, row, column or entry.</exception>
    public static void Check(string file, TemplateHead template)
    {
        ArgumentNullException.ThrowIfNull(file);
        ArgumentNullException.ThrowIfNull(template);
        JointLattice lattice = template.Lattice;
        if (lattice.Joints.Count == 0)
        {
            throw new TemplateFormatException(file, "joints", "the lattice has no joint");
        }

        Dictionary<string, int> order = CheckJoints(file, lattice.Joints);
        CheckSequences(file, "row", lattice.Rows, order);
        CheckSequences(file, "column", lattice.Columns, order);
        CheckNames(file, "reduced", template.ReducedJoints, order);
        if (template.ReducedJoints.Count != template.ReducedJoints.Distinct(StringComparer.Ordinal).Count())
        {
            throw new TemplateFormatException(file, "reduced", "a joint is listed twice");
        }

        foreach ((string unit, IReadOnlyList<string> joints) in template.Coverage)
        {
            CheckNames(file, $"coverage '{unit}'", joints, order);
        }
    }

    /// <summary>Checks that there are as many joints as a rig may have.</summary>
    /// <param name="file">Name of the file, for messages.</param>
    /// <param name="count">Number of the joints, those without that only come along.</param>
    /// <param name="isWhole">False where joints may still be added, as on the other side of a rig: then there may be fewer.</param>
    /// <exception cref="TemplateFormatException">There are too few or too many; the message gives number and limits.</exception>
    internal static void CheckCount(string file, int count, bool isWhole = true)
    {
        if (count > MostJoints || (isWhole && count < FewestJoints))
        {
            throw new TemplateFormatException(file, "joints", $"{count} joints where {FewestJoints} to {MostJoints} can be placed");
        }
    }

    /// <summary>Checks what placing needs of a template: joints, not too few or many, and of its head both eye centres, skin, and how large its eyeballs are.</summary>
    /// <param name="file">Name of the file, for messages.</param>
    /// <param name="template">The template.</param>
    /// <exception cref="TemplateFormatException">Something is missing; the message names it.</exception>
    public static void CheckHead(string file, TemplateHead template)
    {
        ArgumentNullException.ThrowIfNull(file);
        ArgumentNullException.ThrowIfNull(template);
        CheckCount(file, template.Lattice.Joints.Count(joint => joint.Kind != JointKind.Other));
        foreach (string landmark in (string[])["eye_centre_left", "eye_centre_right"])
        {
            if (!template.Landmarks.ContainsKey(landmark))
            {
                throw new TemplateFormatException(file, "landmarks", $"'{landmark}' is missing, without which nothing can be placed");
            }
        }

        if (!template.FaceParts.Contains("skin"))
        {
            throw new TemplateFormatException(file, "mesh.parts", "no face is of the part 'skin'");
        }

        if (template.EyeballRadius is null && !template.FaceParts.Any(part => part is "eyeball_left" or "eyeball_right"))
        {
            throw new TemplateFormatException(file, "mesh.parts", "no face is of the part 'eyeball_left', and there is no eyeballRadius");
        }
    }

    private static Dictionary<string, int> CheckJoints(string file, IReadOnlyList<ControlJoint> joints)
    {
        var order = new Dictionary<string, int>(StringComparer.Ordinal);
        for (int i = 0; i < joints.Count; i++)
        {
            if (!order.TryAdd(joints[i].Name, i))
            {
                throw new TemplateFormatException(file, $"joint '{joints[i].Name}'", "the name is used twice");
            }
        }

        foreach (ControlJoint joint in joints)
        {
            string element = $"joint '{joint.Name}'";
            if (joint.Parent is not null && !order.ContainsKey(joint.Parent))
            {
                throw new TemplateFormatException(file, element, $"its parent '{joint.Parent}' doesn't exist");
            }

            if (joint.Ride == Ride.Skin != joint.SkinPoint.HasValue)
            {
                throw new TemplateFormatException(
                    file, element, joint.SkinPoint.HasValue ? "has a skin point but doesn't ride on the skin" : "rides on the skin without a skin point");
            }

            if (joint.RotationPolicy == RotationPolicy.Aim != joint.AimTarget is not null)
            {
                throw new TemplateFormatException(file, element, "the policy 'aim' and an aim target go together");
            }

            if (joint.AimTarget is not null && (joint.AimTarget == joint.Name || !order.ContainsKey(joint.AimTarget)))
            {
                throw new TemplateFormatException(file, element, $"its aim target '{joint.AimTarget}' is no other joint");
            }
        }

        foreach (ControlJoint joint in joints.Where(j => j.Twin is not null))
        {
            if (!order.TryGetValue(joint.Twin!, out int twin) || joints[twin].Twin != joint.Name || twin == order[joint.Name])
            {
                throw new TemplateFormatException(file, $"joint '{joint.Name}'", $"its twin '{joint.Twin}' is no other joint that has it as twin");
            }
        }

        CheckParentsFirst(file, joints, order);
        return order;
    }

    private static void CheckParentsFirst(string file, IReadOnlyList<ControlJoint> joints, Dictionary<string, int> order)
    {
        for (int i = 0; i < joints.Count; i++)
        {
            // A chain longer than the number of joints must repeat one.
            int ancestor = i;
            for (int steps = 0; joints[ancestor].Parent is { } parent; steps++)
            {
                if (steps == joints.Count)
                {
                    throw new TemplateFormatException(file, $"joint '{joints[i].Name}'", "its parents form a cycle");
                }

                ancestor = order[parent];
            }

            if (joints[i].Parent is { } direct && order[direct] > i)
            {
                throw new TemplateFormatException(file, $"joint '{joints[i].Name}'", $"comes before its parent '{direct}'");
            }
        }
    }

    private static void CheckSequences(string file, string word, IReadOnlyList<JointSequence> sequences, Dictionary<string, int> order)
    {
        var names = new HashSet<string>(StringComparer.Ordinal);
        foreach (JointSequence sequence in sequences)
        {
            string element = $"{word} '{sequence.Name}'";
            if (!names.Add(sequence.Name))
            {
                throw new TemplateFormatException(file, element, "the name is used twice");
            }

            if (sequence.Joints.Count < 2)
            {
                throw new TemplateFormatException(file, element, $"{sequence.Joints.Count} joints where two are needed");
            }

            if (sequence.Joints.Distinct(StringComparer.Ordinal).Count() != sequence.Joints.Count)
            {
                throw new TemplateFormatException(file, element, "a joint is listed twice");
            }

            CheckNames(file, element, sequence.Joints, order);
        }
    }

    private static void CheckNames(string file, string element, IReadOnlyList<string> names, Dictionary<string, int> order)
    {
        foreach (string name in names)
        {
            if (!order.ContainsKey(name))
            {
                throw new TemplateFormatException(file, element, $"names the missing joint '{name}'");
            }
        }
    }
}
