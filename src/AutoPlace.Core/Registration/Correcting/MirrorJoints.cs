using AutoPlace.Geometry;
using AutoPlace.Template;

namespace AutoPlace.Registration.Correcting;

/// <summary>
/// Gives one side's joints the mirror image of the other's and locks them there: by the midsagittal plane, or on the twin
/// triangles of a mesh whose connectivity is symmetric, whatever its shape. A joint that is locked already keeps what is
/// locked of it.
/// </summary>
/// <param name="From">The side that is mirrored: left or right.</param>
public sealed record MirrorJoints(Side From) : Edit
{
    /// <summary>The region to mirror, or null for all.</summary>
    public string? Region { get; init; }

    /// <summary>Names of the joints to mirror, or null for all of region and side. One that wasn't corrected is mirrored whole.</summary>
    public IReadOnlyList<string>? Joints { get; init; }

    /// <summary>True to mirror every joint of the side, false for those that were corrected or are named.</summary>
    public bool All { get; init; }

    /// <summary>True to go by the mesh's connectivity; joints inside the head, which no triangle carries, go by the plane all the same.</summary>
    public bool ByTopology { get; init; }

    /// <inheritdoc/>
    internal override Corrections Apply(Revision at)
    {
        Corrections result = at.Corrections;
        if (ByTopology && at.Head.VertexTwins is null)
        {
            throw new CorrectionException(Region ?? "mirror", "the connectivity of the skin isn't symmetric; mirror by the plane");
        }

        CheckNames(at);
        foreach (JointPlacement source in at.Placement.Joints)
        {
            JointCorrection? made = at.Corrections.Joints.GetValueOrDefault(source.Joint.Name);
            string? twin = at.Head.Twins.GetValueOrDefault(source.Joint.Name);
            if (source.Joint.Side == From && (Region is null || source.Joint.Region == Region) && IsWanted(source.Joint.Name, made)
                && twin is not null && at.Head.AutomaticJoint(twin) is { } target)
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
        bool whole = All || made is null;
        if ((whole || made!.LocksPosition) && !known.LocksPosition)
        {
            target = target with { Lift = source.Lift };
            Vector3d image = ByTopology && source.Joint.Ride == Ride.Skin && at.Head.TwinPlace(source) is { } twin ? twin : MirroredPoints.Mirror(source.Position);
            Vector3d position = at.Head.OntoSkin(target, image);
            result = WithPosition(at, target, result, position) with { Influence = made?.Influence };
        }

        if ((whole || made!.LocksRotation) && !known.LocksRotation)
        {
            result = result with { Rotation = Mirror(source.Rotation) };
        }

        return result == known ? known : result with { Note = Note ?? known.Note ?? made?.Note };
    }

    private bool IsWanted(string joint, JointCorrection? made) => Joints is null ? All || made is not null : Joints.Contains(joint);

    // A name that says nothing to this side would be passed over without a word.
    private void CheckNames(Revision at)
    {
        foreach (string name in Joints ?? [])
        {
            JointPlacement joint = at.Joint(name);
            if (joint.Joint.Side != From || !at.Head.Twins.ContainsKey(name))
            {
                throw new CorrectionException(name, "has no twin on the other side");
            }
        }
    }

    // The x axis keeps running along the row through the midline: S R diag(-1, 1, 1) with S = diag(-1, 1, 1).
    private static Rotation3d Mirror(Rotation3d r) => new(r.X, -r.Y, -r.Z, r.W);
}
