using AutoPlace.Geometry;
using AutoPlace.Template;

namespace AutoPlace.Registration;

/// <summary>
/// What a fitted rig has exactly it has exactly on every head: joints in one place, joints on the midline, straight chains,
/// rigid groups; on a symmetric head, and in regions of others that are symmetric as far as can be seen, also mirrored pairs.
/// Which these are is read off the template's own positions.
/// </summary>
/// <remarks>
/// Order: mirror (so that all that follows has mirrored input), rigid groups, coinciding joints, straight chains, and mirror
/// again for the last digits. Straightening keeps rigid groups whole, mirroring keeps mirrored lines straight.
/// </remarks>
internal sealed class LatticeInvariants
{
    /// <summary>Joints nearer than this on the template's head coincide, interocular distances: single precision of files.</summary>
    internal const double Coincident = 1e-5;

    /// <summary>A chain is straight whose joints are off the line by less than this share of its length.</summary>
    internal const double Straight = 1e-4;

    /// <summary>What double precision leaves of a mirrored fit.</summary>
    private const double Noise = 1e-9;

    /// <summary>On a head that was read and isn't symmetric, a joint this near to the midsagittal plane is put on it: two and a half times what readings err by; beyond, the face itself is off.</summary>
    internal const double ReadMidline = 0.03;

    /// <summary>On a head that was carried over, which shows exactly where its own midline runs: single precision of files.</summary>
    internal const double CarriedMidline = 1e-5;

    /// <summary>On a head that isn't symmetric, a region whose joints are this near to their twins' mirror images in the mean is symmetric: symmetric heads come out so to within 0.01.</summary>
    private const double NearlySymmetric = 0.015;

    private readonly IReadOnlyList<ControlJoint> _joints;
    private readonly Dictionary<string, int> _index;
    private readonly int[] _twins;
    private readonly string?[] _groups;
    private readonly int[] _leaders;
    private readonly Vector3d[] _at;
    private readonly bool _symmetric;
    private readonly double _midline;
    private readonly bool[] _mirrored;

    private LatticeInvariants(JointLattice lattice, Dictionary<string, JointPlacement> placed, bool symmetric, double midline, bool ownPairs)
    {
        _joints = lattice.Joints;
        (_symmetric, _midline) = (symmetric, midline);
        _index = Enumerable.Range(0, _joints.Count).ToDictionary(i => _joints[i].Name, StringComparer.Ordinal);
        IReadOnlyDictionary<string, string> twins = LatticeTwins.Of(lattice);
        _twins = [.. _joints.Select(joint => twins.TryGetValue(joint.Name, out string? twin) ? _index[twin] : -1)];
        _groups = [.. _joints.Select(GroupOf)];
        _at = [.. _joints.Select(joint => placed[joint.Name].Position)];
        _leaders = Leaders();
        _mirrored = Mirrored(ownPairs);
    }

    /// <summary>Moves joints so that the invariants hold.</summary>
    /// <param name="lattice">The joints on the template's head.</param>
    /// <param name="placed">The joints by name; their positions are replaced.</param>
    /// <param name="symmetric">True where left and right are each other's mirror image on this head.</param>
    /// <param name="midline">How near to the midsagittal plane a joint of the midline is put on it on a head that isn't symmetric; 0 to leave all.</param>
    /// <param name="ownPairs">True to mirror pairs there, too, in regions that are symmetric as far as can be seen.</param>
    /// <returns>How rigid groups turn, by name, and the names of the joints that are mirrored.</returns>
    public static (IReadOnlyDictionary<string, Matrix3d> GroupTurns, IReadOnlySet<string> Mirrored) Apply(
        JointLattice lattice, Dictionary<string, JointPlacement> placed, bool symmetric, double midline, bool ownPairs)
    {
        var invariants = new LatticeInvariants(lattice, placed, symmetric, midline, ownPairs);
        invariants.Mirror(double.PositiveInfinity);
        Dictionary<string, Matrix3d> turns = invariants.KeepGroups();
        invariants.Coincide();
        invariants.Straighten();
        invariants.Mirror(Noise);
        invariants.Coincide();
        for (int i = 0; i < invariants._at.Length; i++)
        {
            string name = invariants._joints[i].Name;
            placed[name] = placed[name] with { Position = invariants._at[i] };
        }

        return (turns, Enumerable.Range(0, invariants._at.Length).Where(i => invariants._mirrored[i]).Select(i => lattice.Joints[i].Name).ToHashSet(StringComparer.Ordinal));
    }

    private bool[] Mirrored(bool ownPairs)
    {
        if (_symmetric || !ownPairs)
        {
            return [.. _joints.Select(_ => _symmetric)];
        }

        var regions = Enumerable.Range(0, _at.Length).Where(i => _joints[i].Side == Side.Left && _twins[i] >= 0)
            .GroupBy(i => _joints[i].Region ?? string.Empty, StringComparer.Ordinal)
            .Where(pairs => pairs.Average(OffMirror) <= NearlySymmetric).Select(pairs => pairs.Key).ToHashSet(StringComparer.Ordinal);
        bool[] mirrored = [.. _joints.Select((joint, i) =>
            regions.Contains((joint.Side == Side.Right && _twins[i] >= 0 ? _joints[_twins[i]] : joint).Region ?? string.Empty))];
        LeaveLinesWhole(mirrored);
        return mirrored;
    }

    // A straight chain that isn't mirrored all along isn't mirrored at all, nor is its twin.
    private void LeaveLinesWhole(bool[] mirrored)
    {
        IReadOnlyList<List<int>> lines = LatticeLines.Of(_joints, _leaders, Straight);
        while (lines.FirstOrDefault(line => line.Any(i => mirrored[i]) && !line.All(i => mirrored[i])) is { } partly)
        {
            foreach (int i in partly)
            {
                mirrored[i] = false;
                if (_twins[i] >= 0)
                {
                    mirrored[_twins[i]] = false;
                }
            }
        }
    }

    private double OffMirror(int joint) => Vector3d.Distance(_at[joint], _at[_twins[joint]] with { X = -_at[_twins[joint]].X });

    /// <summary>Name of the rigid group that a joint belongs to, or null: teeth and what lies in an eyeball are rigid by what they ride on.</summary>
    internal static string? GroupOf(ControlJoint joint) => joint.RigidGroup ?? (joint.Ride switch
    {
        Ride.TeethUpper => "teeth, upper",
        Ride.TeethLower => "teeth, lower",
        Ride.EyeballLeft => "eyeball, left",
        Ride.EyeballRight => "eyeball, right",
        _ => null,
    });

    // Where mirrored, to the last bit; joints of a rigid group by no more than asked, which the rig's own asymmetry may exceed.
    private void Mirror(double mostInGroup)
    {
        for (int i = 0; i < _at.Length; i++)
        {
            if (_joints[i].Side == Side.Middle)
            {
                double most = _symmetric ? double.PositiveInfinity : _midline;
                most = _groups[i] is null ? most : Math.Min(most, mostInGroup);
                _at[i] = Math.Abs(_at[i].X) <= most ? _at[i] with { X = 0 } : _at[i];
            }
            else if (_mirrored[i] && _joints[i].Side == Side.Left && _twins[i] >= 0 && (_groups[i] is null || OffMirror(i) <= mostInGroup))
            {
                MirrorPair(i);
            }
        }
    }

    private void MirrorPair(int left)
    {
        if (_twins[left] is >= 0 and int right)
        {
            Vector3d mean = (_at[left] + (_at[right] with { X = -_at[right].X })) * 0.5;
            _at[left] = mean;
            _at[right] = mean with { X = -mean.X };
        }
    }

    private Dictionary<string, Matrix3d> KeepGroups()
    {
        var turns = new Dictionary<string, Matrix3d>(StringComparer.Ordinal);
        foreach (IGrouping<string?, int> group in Enumerable.Range(0, _at.Length).Where(i => _groups[i] is not null).GroupBy(i => _groups[i]))
        {
            int[] members = [.. group];
            SimilarityTransform fit = Fit(members);
            int[] middle = [.. members.Where(i => _joints[i].Side == Side.Middle)];
            if (_midline > 0 && middle.Length > 0 && middle.All(i => Math.Abs(fit.Apply(_joints[i].Position).X) <= _midline))
            {
                // As if the head were symmetric: only so does the group stay whole and on the midline.
                Symmetrise(members);
                fit = Fit(members);
            }

            foreach (int i in members)
            {
                _at[i] = fit.Apply(_joints[i].Position);
            }

            turns.Add(group.Key!, fit.Rotation);
        }

        return turns;
    }

    private SimilarityTransform Fit(int[] members) =>
        ProcrustesAlignment.Align([.. members.Select(i => _joints[i].Position)], [.. members.Select(i => _at[i])]);

    private void Symmetrise(int[] members)
    {
        foreach (int i in members)
        {
            _at[i] = _joints[i].Side == Side.Middle ? _at[i] with { X = 0 } : _at[i];
            if (_joints[i].Side == Side.Left)
            {
                MirrorPair(i);
            }
        }
    }

    private void Coincide()
    {
        for (int i = 0; i < _at.Length; i++)
        {
            _at[i] = _at[_leaders[i]];
        }
    }

    // Of joints in one place a member of a rigid group leads, else one that has a twin, else the first.
    private int[] Leaders()
    {
        int[] order = [.. Enumerable.Range(0, _joints.Count).OrderBy(i => _groups[i] is null).ThenBy(i => _twins[i] < 0)];
        int[] leaders = new int[order.Length];
        Array.Fill(leaders, -1);
        foreach (int i in order)
        {
            for (int k = 0; leaders[i] < 0; k++)
            {
                int j = order[k];
                leaders[i] = j == i || (leaders[j] == j && Vector3d.Distance(_joints[i].Position, _joints[j].Position) <= Coincident) ? j : -1;
            }
        }

        return leaders;
    }

    private void Straighten()
    {
        foreach (List<int> line in LatticeLines.Of(_joints, _leaders, Straight))
        {
            Straighten(line);
        }

        Coincide();
    }

    // Between its ends, or through two joints of one rigid group, at the places that the template has them at.
    private void Straighten(List<int> line)
    {
        IGrouping<string?, int>? whole = line.GroupBy(i => _groups[i]).FirstOrDefault(group => group.Key is not null && group.Count() > 1);
        (int first, int last) = whole is null ? (line[0], line[^1]) : (whole.First(), whole.Last());
        Vector3d start = _joints[first].Position, along = _joints[last].Position - start;
        Vector3d from = _at[first], step = _at[last] - from;
        foreach (int i in line)
        {
            double t = Vector3d.Dot(_joints[i].Position - start, along) / along.LengthSquared;
            if (i != first && i != last && (whole is null || _groups[i] != whole.Key))
            {
                Move(i, from + (step * t));
            }
        }
    }

    // A member of a rigid group takes the group along.
    private void Move(int joint, Vector3d to)
    {
        Vector3d by = to - _at[joint];
        string? group = _groups[joint];
        for (int i = 0; i < _at.Length && group is not null; i++)
        {
            _at[i] += _groups[i] == group ? by : Vector3d.Zero;
        }

        _at[joint] = to;
    }
}
