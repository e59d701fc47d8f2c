using AutoPlace.Geometry;
using AutoPlace.Landmarks;
using AutoPlace.Template;

namespace AutoPlace.Registration.Correcting;

/// <summary>
/// Gives one side's joints the mirror image of the other's, by the midsagittal plane, and locks them there. A joint that
/// is locked already keeps what is locked of it.
/// </summary>
/// <param name="From">The side that is mirrored: left or right.</param>
public sealed record MirrorJoints(Side From) : Edit
{
    /// <summary>The region to mirror, or null for all.</summary>
    public string? Region { get; init; }

    /// <summary>True to mirror every joint of the side, false for those that were corrected.</summary>
    public bool All { get; init; }

    /// <inheritdoc/>
    internal override Corrections Apply(Revision at)
    {
        Corrections result = at.Corrections;
        foreach (JointPlacement source in at.Placement.Joints)
        {
            JointCorrection? made = at.Corrections.Joints.GetValueOrDefault(source.Joint.Name);
            string twin = LandmarkNames.Mirror(source.Joint.Name);
            if (source.Joint.Side == From && (Region is null || source.Joint.Region == Region) && (All || made is not null)
                && at.Head.AutomaticJoint(twin) is { } target && target.Joint.Side is Side.Left or Side.Right && target.Joint.Side != From)
            {
                JointCorrection known = at.Corrections.Joints.GetValueOrDefault(twin) ?? new JointCorrection { Joint = twin };
                JointCorrection mirrored = Mirrored(at, source, made, target, known);
                result = mirrored.LocksPosition || mirrored.LocksRotation ? result.With(mirrored) : result;
            }
        }

        return result;
    }

    private JointCorrection Mirrored(Revision at, JointPlacement source, JointCorrection? made, JointPlacement target, JointCorrection known)
    {
        JointCorrection result = known;
        if ((All || made!.LocksPosition) && !known.LocksPosition)
        {
            // The lift is the source's, too.
            Vector3d position = at.Head.OntoSkin(target with { Lift = source.Lift }, MirroredPoints.Mirror(source.Position));
            result = WithPosition(at, target, result, position) with { Influence = made?.Influence };
        }

        if ((All || made!.LocksRotation) && !known.LocksRotation)
        {
            result = result with { Rotation = Mirror(source.Rotation) };
        }

        return result == known ? known : result with { Note = Note ?? known.Note ?? made?.Note };
    }

    // The x axis keeps running along the row through the midline: S R diag(-1, 1, 1) with S = diag(-1, 1, 1).
    private static Rotation3d Mirror(Rotation3d r) => new(r.X, -r.Y, -r.Z, r.W);
}
