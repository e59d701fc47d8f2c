using AutoPlace.Geometry;
using AutoPlace.Template;

namespace AutoPlace;

/// <summary>How far a joint is from where the template has it, after the template was placed on its own head.</summary>
/// <param name="Joint">Name of the joint.</param>
/// <param name="Offset">Distance, interocular distances.</param>
/// <param name="AngleDegrees">Angle between the rotations.</param>
public sealed record JointReturn(string Joint, double Offset, double AngleDegrees);

/// <summary>A template placed on its own head: what comes back, and what doesn't.</summary>
public static class TemplateReturn
{
    /// <summary>Limits within which a joint has come back: a thousandth of the interocular distance, a tenth of a degree.</summary>
    public const double MostOffset = 0.001, MostAngleDegrees = 0.1;

    /// <summary>Every joint of the lattice, in its order.</summary>
    /// <param name="template">The template.</param>
    /// <param name="result">Its placement on its own mesh, see <see cref="TemplateScan"/>.</param>
    public static IReadOnlyList<JointReturn> Of(TemplateHead template, PlacementResult result)
    {
        ArgumentNullException.ThrowIfNull(template);
        ArgumentNullException.ThrowIfNull(result);

        // The scan is the atlas: directions of the head frame are compared there.
        Rotation3d toAtlas = Rotation3d.FromMatrix(Matrix3d.FromColumns(result.Frame.Left, result.Frame.Up, result.Frame.Front));
        double unit = Vector3d.Distance(template.Landmarks["eye_centre_left"], template.Landmarks["eye_centre_right"]);
        return [.. result.Placement.Joints.Select(joint => new JointReturn(
            joint.Joint.Name,
            Vector3d.Distance(result.Frame.ToFile(joint.Position), joint.Joint.Position) / unit,
            Rotation3d.AngleDegrees(toAtlas * joint.Rotation, joint.Joint.Rotation)))];
    }

    /// <summary>True when a joint has come back.</summary>
    public static bool IsBack(JointReturn joint)
    {
        ArgumentNullException.ThrowIfNull(joint);
        return joint.Offset <= MostOffset && joint.AngleDegrees <= MostAngleDegrees;
    }
}
