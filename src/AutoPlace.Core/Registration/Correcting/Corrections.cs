using System.Collections.Immutable;

namespace AutoPlace.Registration.Correcting;

/// <summary>
/// What a person corrected on a head: at most one correction for each joint and landmark, in the order of their names.
/// A name that the lattice doesn't have is kept all the same. Immutable.
/// </summary>
public sealed class Corrections : IEquatable<Corrections>
{
    /// <summary>Farthest position from the head frame's origin, interocular distances: some 60 m of a person, where nothing of a head lies. Far beyond, single precision overflows.</summary>
    public const double Farthest = 1000;

    private readonly ImmutableSortedDictionary<string, JointCorrection> _joints;
    private readonly ImmutableSortedDictionary<string, LandmarkCorrection> _landmarks;

    private Corrections(
        ImmutableSortedDictionary<string, JointCorrection> joints, ImmutableSortedDictionary<string, LandmarkCorrection> landmarks)
    {
        _joints = joints;
        _landmarks = landmarks;
    }

    /// <summary>Nothing is corrected.</summary>
    public static Corrections None { get; } = new(
        ImmutableSortedDictionary.Create<string, JointCorrection>(StringComparer.Ordinal),
        ImmutableSortedDictionary.Create<string, LandmarkCorrection>(StringComparer.Ordinal));

    /// <summary>Corrections of joints by name, ordinal order.</summary>
    public IReadOnlyDictionary<string, JointCorrection> Joints => _joints;

    /// <summary>Corrections of landmarks by name, ordinal order.</summary>
    public IReadOnlyDictionary<string, LandmarkCorrection> Landmarks => _landmarks;

    /// <summary>True when nothing is corrected.</summary>
    public bool IsEmpty => _joints.IsEmpty && _landmarks.IsEmpty;

    /// <summary>These, with a joint's correction in place of an earlier one.</summary>
    public Corrections With(JointCorrection joint)
    {
        ArgumentNullException.ThrowIfNull(joint);
        return new Corrections(_joints.SetItem(joint.Joint, joint), _landmarks);
    }

    /// <summary>These, with a landmark's correction in place of an earlier one.</summary>
    public Corrections With(LandmarkCorrection landmark)
    {
        ArgumentNullException.ThrowIfNull(landmark);
        return new Corrections(_joints, _landmarks.SetItem(landmark.Landmark, landmark));
    }

    /// <summary>These without that of a joint, if there is one.</summary>
    public Corrections WithoutJoint(string name) => new(_joints.Remove(name), _landmarks);

    /// <summary>These without that of a landmark, if there is one.</summary>
    public Corrections WithoutLandmark(string name) => new(_joints, _landmarks.Remove(name));

    /// <summary>True when both correct the same in the same way.</summary>
    public bool Equals(Corrections? other) =>
        other is not null && _joints.Values.SequenceEqual(other._joints.Values) && _landmarks.Values.SequenceEqual(other._landmarks.Values);

    /// <inheritdoc/>
    public override bool Equals(object? obj) => Equals(obj as Corrections);

    /// <inheritdoc/>
    public override int GetHashCode()
    {
        var hash = default(HashCode);
        foreach (JointCorrection joint in _joints.Values)
        {
            hash.Add(joint);
        }

        foreach (LandmarkCorrection landmark in _landmarks.Values)
        {
            hash.Add(landmark);
        }

        return hash.ToHashCode();
    }
}
