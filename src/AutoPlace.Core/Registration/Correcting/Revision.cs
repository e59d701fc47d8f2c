namespace AutoPlace.Registration.Correcting;

/// <summary>A placement after one edit. None is ever overwritten: to undo is to go back to the one before.</summary>
public sealed class Revision
{
    private Revision(CorrectableHead head, Corrections corrections, Revision? before)
    {
        Head = head;
        Corrections = corrections;
        Before = before;
        Placement = head.Solve(corrections);
    }

    /// <summary>The head, with its lattice laid by the landmarks as they are now.</summary>
    public CorrectableHead Head { get; }

    /// <summary>All corrections so far.</summary>
    public Corrections Corrections { get; }

    /// <summary>The lattice with these corrections.</summary>
    public LatticePlacement Placement { get; }

    /// <summary>The revision that was edited, or null for the first.</summary>
    public Revision? Before { get; }

    /// <summary>The first revision of a head.</summary>
    /// <param name="head">The head.</param>
    /// <param name="kept">Corrections made before; null for none.</param>
    public static Revision First(CorrectableHead head, Corrections? kept = null)
    {
        ArgumentNullException.ThrowIfNull(head);
        Corrections corrections = kept ?? Corrections.None;
        return new Revision(head.With(corrections), corrections, null);
    }

    /// <summary>The revision after an edit.</summary>
    /// <exception cref="CorrectionException">The edit can't be made.</exception>
    public Revision After(Edit edit)
    {
        ArgumentNullException.ThrowIfNull(edit);
        Corrections corrections = edit.Apply(this);
        CorrectableHead laid = Head.With(corrections);
        return new Revision(laid, ReferenceEquals(laid, Head) ? corrections : laid.Reread(corrections), this);
    }

    /// <summary>A joint as it is now.</summary>
    /// <exception cref="CorrectionException">The lattice has none of that name.</exception>
    public JointPlacement Joint(string name) =>
        Placement.Joints.FirstOrDefault(joint => joint.Joint.Name == name) ?? throw new CorrectionException(name, "there is no such joint");
}
