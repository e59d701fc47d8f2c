namespace AutoPlace.Template;

/// <summary>What a template says of its joints, in a few lines for a person to look over.</summary>
public static class TemplateDescription
{
    /// <summary>The lines: ways of riding, rotation policies, sides, regions, rows, groups.</summary>
    /// <param name="lattice">The template's lattice.</param>
    public static IReadOnlyList<string> Lines(JointLattice lattice)
    {
        ArgumentNullException.ThrowIfNull(lattice);
        IReadOnlyList<ControlJoint> joints = lattice.Joints;
        string[] groups = [.. joints.Select(joint => joint.RigidGroup).OfType<string>()];
        int onSkin = joints.Count(joint => joint.Ride == Ride.Skin), under = joints.Count(joint => joint.Lift < 0);
        return
        [
            $"ride on: {Counts(joints.Select(joint => TemplateVocabulary.WordFor(TemplateVocabulary.Rides, joint.Ride)))}",
            $"on the skin: {onSkin}, of them under it on purpose: {under}",
            $"rotation: {Counts(joints.Select(joint => TemplateVocabulary.WordFor(TemplateVocabulary.Policies, joint.RotationPolicy)))}",
            $"sides: {Counts(joints.Select(joint => joint.Side is { } side ? TemplateVocabulary.WordFor(TemplateVocabulary.Sides, side) : "none"))}, mirrored pairs: {LatticeTwins.Of(lattice).Count / 2}",
            $"regions: {Counts(joints.Select(joint => joint.Region ?? "none"))}",
            $"rows: {(lattice.Rows.Count == 0 ? "none" : string.Join(", ", lattice.Rows.Select(row => row.Name)))}",
            $"rigid groups: {(groups.Length == 0 ? "none" : Counts(groups))}",
        ];
    }

    private static string Counts(IEnumerable<string> words) => string.Join(
        ", ", words.GroupBy(word => word, StringComparer.Ordinal).OrderByDescending(group => group.Count()).Select(group => $"{group.Count()} {group.Key}"));
}
