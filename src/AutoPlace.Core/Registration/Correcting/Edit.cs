using System.Globalization;
using AutoPlace.Geometry;
using AutoPlace.Template;

namespace AutoPlace.Registration.Correcting;

/// <summary>Something that a person does to a placement.</summary>
public abstract record Edit
{
    /// <summary>Who, when, why: free text that is kept with what the edit fixes.</summary>
    public string? Note { get; init; }

    /// <summary>The corrections after the edit.</summary>
    /// <exception cref="CorrectionException">The edit can't be made.</exception>
    internal abstract Corrections Apply(Revision at);

    /// <summary>A joint that may be edited, and what is corrected of it already.</summary>
    /// <exception cref="CorrectionException">There is no such joint, or it belongs to the body rig.</exception>
    private protected static (JointPlacement Now, JointPlacement Automatic, JointCorrection Correction) Editable(Revision at, string joint)
    {
        JointPlacement now = at.Joint(joint);
        JointCorrection? known = at.Corrections.Joints.GetValueOrDefault(joint);
        return known is { OfBodyRig: true }
            ? throw new CorrectionException(joint, "belongs to the body rig; unlock it first")
            : (now, at.Head.AutomaticJoint(joint)!, known ?? new JointCorrection { Joint = joint });
    }

    /// <summary>The correction with the joint fixed at a position.</summary>
    /// <exception cref="CorrectionException">The position is farther than <see cref="Corrections.Farthest"/>.</exception>
    private protected static JointCorrection WithPosition(Revision at, JointPlacement automatic, JointCorrection correction, Vector3d position)
    {
        if (!(position.Length <= Corrections.Farthest))
        {
            throw new CorrectionException(
                correction.Joint, string.Create(CultureInfo.InvariantCulture, $"the position lies {position.Length:G4} interocular distances from the head, more than {Corrections.Farthest:G4}"));
        }

        JointCorrection there = at.Head.Fixed(automatic, position);
        return correction with { Position = there.Position, AtlasPoint = there.AtlasPoint, Lift = there.Lift };
    }
}

/// <summary>Moves a joint and locks its position.</summary>
/// <param name="Joint">Name of the joint.</param>
/// <param name="Position">Where to, head frame, interocular distances.</param>
public sealed record MoveJoint(string Joint, Vector3d Position) : Edit
{
    /// <summary>How far away joints of the region follow, interocular distances; null to let the region follow by what is usually wrong together.</summary>
    public double? Influence { get; init; }

    /// <summary>True to put a joint that rides on the skin onto it at its own lift; false to leave it just there.</summary>
    public bool AlongSkin { get; init; }

    /// <summary>True to take the joints along that this one carries.</summary>
    public bool CarriesChildren { get; init; }

    /// <inheritdoc/>
    internal override Corrections Apply(Revision at)
    {
        if (!Position.IsFinite || Influence is < 0 or double.NaN or double.PositiveInfinity)
        {
            throw new CorrectionException(Joint, "position and influence distance have to be finite, the distance not negative");
        }

        (_, JointPlacement automatic, JointCorrection known) = Editable(at, Joint);
        Vector3d position = AlongSkin ? at.Head.OntoSkin(automatic, Position) : Position;
        return at.Corrections.With(WithPosition(at, automatic, known, position) with
        {
            Influence = Influence,
            CarriesChildren = CarriesChildren,
            Note = Note ?? known.Note,
        });
    }
}

/// <summary>Turns a joint and locks its rotation; what hangs on it doesn't turn along.</summary>
/// <param name="Joint">Name of the joint.</param>
/// <param name="Rotation">World rotation, head frame.</param>
public sealed record TurnJoint(string Joint, Rotation3d Rotation) : Edit
{
    /// <inheritdoc/>
    internal override Corrections Apply(Revision at)
    {
        if (!(Math.Abs(Rotation.Norm - 1) < 1e-6))
        {
            throw new CorrectionException(Joint, "a rotation has length 1");
        }

        JointCorrection known = Editable(at, Joint).Correction;
        return at.Corrections.With(known with { Rotation = Rotation, Note = Note ?? known.Note });
    }
}

/// <summary>Locks a joint as it is.</summary>
/// <param name="Joint">Name of the joint.</param>
/// <param name="Position">True to lock its position.</param>
/// <param name="Rotation">True to lock its rotation.</param>
public sealed record LockJoint(string Joint, bool Position = true, bool Rotation = false) : Edit
{
    /// <summary>True when the joint belongs to the body rig and is never to be touched; locks both.</summary>
    public bool OfBodyRig { get; init; }

    /// <inheritdoc/>
    internal override Corrections Apply(Revision at)
    {
        (JointPlacement now, JointPlacement automatic, JointCorrection known) = Editable(at, Joint);
        JointCorrection result = known with { OfBodyRig = OfBodyRig, Note = Note ?? known.Note };
        result = (Position || OfBodyRig) && !known.LocksPosition ? WithPosition(at, automatic, result, now.Position) : result;
        result = (Rotation || OfBodyRig) && !known.LocksRotation ? result with { Rotation = now.Rotation } : result;
        return result.LocksPosition || result.LocksRotation ? at.Corrections.With(result) : at.Corrections;
    }
}

/// <summary>Gives a joint back to the program, that of the body rig too.</summary>
/// <param name="Joint">Name of the joint; one that the lattice doesn't have is forgotten as well.</param>
/// <param name="Position">True to unlock its position.</param>
/// <param name="Rotation">True to unlock its rotation.</param>
public sealed record UnlockJoint(string Joint, bool Position = true, bool Rotation = true) : Edit
{
    /// <inheritdoc/>
    internal override Corrections Apply(Revision at)
    {
        if (!at.Corrections.Joints.TryGetValue(Joint, out JointCorrection? known))
        {
            return at.Corrections;
        }

        JointCorrection rest = known with { OfBodyRig = false, Rotation = Rotation ? null : known.Rotation };
        rest = Position ? rest with { Position = null, AtlasPoint = null, Lift = null, Influence = null, CarriesChildren = false } : rest;
        return rest.LocksPosition || rest.LocksRotation ? at.Corrections.With(rest) : at.Corrections.WithoutJoint(Joint);
    }
}
