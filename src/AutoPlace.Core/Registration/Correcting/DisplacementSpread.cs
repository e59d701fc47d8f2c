using AutoPlace.Geometry;
using AutoPlace.Template;

namespace AutoPlace.Registration.Correcting;

/// <summary>A joint that is known to belong elsewhere.</summary>
/// <param name="Joint">Index of the joint.</param>
/// <param name="Displacement">From where it was placed to where it belongs, interocular distances.</param>
/// <param name="Influence">How far away joints follow, interocular distances; null to go by what is usually wrong together.</param>
internal readonly record struct KnownDisplacement(int Joint, Vector3d Displacement, double? Influence);

/// <summary>
/// Spreads the displacements of some joints over the others of their regions. Displacements are taken for a Gaussian
/// process (Rasmussen and Williams 2006, section 2.2; from memory): near joints are wrong alike, each has an error of
/// its own besides, and on a symmetric head a joint and its twin are wrong alike too. The kernel is Wendland's, which
/// ends: joints farther away than it reaches, and those of other regions, don't move at all. The
/// result depends on what is known, not on the order in which it became known.
/// </summary>
internal sealed class DisplacementSpread
{
    /// <summary>
    /// Reach of the kernel in the atlas, interocular distances. This and the three shares were chosen on brannoc, lysk,
    /// osric and tibb of the demonstration heads by the number of locks until all joints are within their tolerance;
    /// the other four were left for the test.
    /// </summary>
    private const double Reach = 1.1;

    /// <summary>Variance of a joint's own error over that of the error which it shares with its neighbours; on lids, where each joint sits on its own bit of a thin edge, most is its own.</summary>
    private const double OwnShare = 0.4, OwnShareOfLids = 4;

    /// <summary>Share of the common error that is the mirror image of the twin's, where a region is symmetric.</summary>
    private const double MirroredShare = 0.7;

    /// <summary>Root mean square distance between joints and their mirrored twins up to which a region counts as symmetric, interocular distances.</summary>
    private const double MostAsymmetric = 0.05;

    /// <summary>Own share where a person gave the influence distance: only enough that joints which coincide don't contradict each other without end.</summary>
    private const double OwnShareByHand = 1e-3;

    /// <summary>Keeps a variance of 0 from being negative by rounding.</summary>
    private const double Rounding = 1e-12;

    private readonly int[] _region;
    private readonly int[] _twin;
    private readonly bool[] _mirrored;
    private readonly double[] _own;
    private readonly Vector3d[] _atlas;
    private readonly Vector3d[] _head;

    /// <summary>Prepares a placed lattice.</summary>
    /// <param name="placed">Joints as they were placed by the program, head frame.</param>
    /// <param name="twins">For the name of each joint that has a twin, the twin's.</param>
    public DisplacementSpread(IReadOnlyList<JointPlacement> placed, IReadOnlyDictionary<string, string> twins)
    {
        _atlas = [.. placed.Select(joint => joint.Joint.Position)];
        _head = [.. placed.Select(joint => joint.Position)];
        _own = [.. placed.Select(joint => joint.Joint.Region == "eyelid" ? OwnShareOfLids : OwnShare)];
        string?[] regions = [.. placed.Select(joint => joint.Joint.Region).Distinct()];
        _region = [.. placed.Select(joint => Array.IndexOf(regions, joint.Joint.Region))];
        _twin = Twins(placed, twins);
        bool[] symmetric = [.. Enumerable.Range(0, regions.Length).Select(IsSymmetric)];
        _mirrored = [.. _region.Select(region => symmetric[region])];
    }

    /// <summary>Prepares a placed lattice, whose twins its rows and names tell.</summary>
    public static DisplacementSpread Of(LatticePlacement placement) => new(
        placement.Joints, LatticeTwins.Of(new JointLattice([.. placement.Joints.Select(j => j.Joint)], placement.Rows, placement.Columns)));

    /// <summary>Spreads what is known; O(k^3 + k n) for k known displacements in a region of n joints.</summary>
    /// <param name="known">At most one for each joint.</param>
    /// <returns>Displacement of every joint, zero where nothing reaches. That of a known joint may be off by rounding.</returns>
    public Vector3d[] Solve(IReadOnlyList<KnownDisplacement> known)
    {
        var field = new Vector3d[_region.Length];
        foreach (IGrouping<int, KnownDisplacement> region in known.GroupBy(k => _region[k.Joint]))
        {
            int[] joints = [.. Enumerable.Range(0, _region.Length).Where(i => _region[i] == region.Key)];

            // The widest influence first: a narrower one leaves what has a wider one where it is.
            var settled = new List<int>();
            foreach (IGrouping<double?, KnownDisplacement> level in region.GroupBy(k => k.Influence).OrderByDescending(l => l.Key ?? double.PositiveInfinity))
            {
                KnownDisplacement[] next = [.. level.OrderBy(k => k.Joint)];
                int[] at = [.. settled, .. next.Select(k => k.Joint)];
                Vector3d[] missing = [.. settled.Select(_ => Vector3d.Zero), .. next.Select(k => k.Displacement - field[k.Joint])];
                Add(field, joints, at, missing, level.Key);
                settled.AddRange(next.Select(k => k.Joint));
            }
        }

        return field;
    }

    /// <summary>Joints of each region, by index, ascending.</summary>
    public IEnumerable<int[]> Regions() => _region.Select((region, i) => (region, i)).GroupBy(j => j.region, j => j.i).Select(g => g.ToArray());

    /// <summary>
    /// Covariance of the errors of some joints of a region when the true places of others of it are known, each over the
    /// variance that it has when none is; O(k^3 + k^2 n + k n^2) for k known joints and n others.
    /// </summary>
    /// <param name="joints">Joints whose errors aren't known.</param>
    /// <param name="known">Joints whose errors are known.</param>
    public double[,] Posterior(int[] joints, int[] known)
    {
        // The factor's inverse applied to every column at once: what is known explains B A^-1 B^T.
        double[] columns = [.. joints.SelectMany(j => known.Select(k => Covariance(j, k, null, 1)))];
        double[] solved = [.. columns];
        Factored(known, null, 1).Solve(solved);
        double[] deviation = [.. joints.Select(j => Math.Sqrt(Covariance(j, j, null, 1)))];
        double[,] covariance = new double[joints.Length, joints.Length];
        for (int i = 0; i < joints.Length; i++)
        {
            for (int j = 0; j < joints.Length; j++)
            {
                double sum = Covariance(joints[i], joints[j], null, 1);
                for (int k = 0; k < known.Length; k++)
                {
                    sum -= columns[(i * known.Length) + k] * solved[(j * known.Length) + k];
                }

                covariance[i, j] = (i == j ? Math.Max(sum, Rounding) : sum) / (deviation[i] * deviation[j]);
            }
        }

        return covariance;
    }

    /// <summary>By how much each joint's expected error is smaller for knowing where others of its region belong: 1 where it isn't, 0 for these themselves.</summary>
    /// <param name="isKnown">For each joint whether its true place is known.</param>
    public double[] Remaining(IReadOnlyList<bool> isKnown)
    {
        double[] remaining = [.. isKnown.Select(known => known ? 0.0 : 1.0)];
        foreach (int[] region in Regions())
        {
            int[] known = [.. region.Where(i => isKnown[i])];
            if (known.Length > 0)
            {
                int[] open = [.. region.Where(i => !isKnown[i])];
                double[,] covariance = Posterior(open, known);
                for (int i = 0; i < open.Length; i++)
                {
                    remaining[open[i]] = Math.Sqrt(covariance[i, i]);
                }
            }
        }

        return remaining;
    }

    // The covariance of known joints.
    private BlockedCholesky Factored(int[] known, double? influence, int sign)
    {
        var matrix = new SymmetricMatrix(known.Length);
        for (int i = 0; i < known.Length; i++)
        {
            Span<double> row = matrix.Row(i);
            for (int j = 0; j <= i; j++)
            {
                row[j] = Covariance(known[i], known[j], influence, sign);
            }

            // A midline joint's mirrored error has no sideways part.
            row[i] += Rounding;
        }

        return BlockedCholesky.TryFactor(matrix)
            ?? throw new InvalidOperationException("The covariance of the known joints isn't positive definite.");
    }

    private void Add(Vector3d[] field, int[] joints, int[] at, Vector3d[] missing, double? influence)
    {
        if (!(influence is null or > 0) || missing.All(m => m == Vector3d.Zero))
        {
            foreach ((int joint, Vector3d m) in at.Zip(missing))
            {
                field[joint] += m;
            }

            return;
        }

        // Across the midline a mirrored error has the opposite sign.
        double[] x = Interpolated(joints, at, [.. missing.Select(m => m.X)], influence, -1);
        double[] yz = Interpolated(joints, at, [.. missing.Select(m => m.Y), .. missing.Select(m => m.Z)], influence, 1);
        for (int k = 0; k < joints.Length; k++)
        {
            field[joints[k]] += new Vector3d(x[k], yz[k], yz[joints.Length + k]);
        }
    }

    // The posterior mean at all joints for one or more right-hand sides.
    private double[] Interpolated(int[] joints, int[] at, double[] values, double? influence, int sign)
    {
        Factored(at, influence, sign).Solve(values);
        double[] result = new double[joints.Length * (values.Length / at.Length)];
        for (int k = 0; k < joints.Length; k++)
        {
            for (int i = 0; i < at.Length; i++)
            {
                double covariance = Covariance(joints[k], at[i], influence, sign);
                for (int side = 0; side * at.Length < values.Length; side++)
                {
                    result[(side * joints.Length) + k] += covariance * values[(side * at.Length) + i];
                }
            }
        }

        return result;
    }

    // Part of the error is the joint's own side's, part the mirrored mean of both sides': B K B^T of a kernel matrix K is
    // as positive as K, whatever the twins' places.
    private double Covariance(int i, int j, double? influence, int sign)
    {
        double plain = Kernel(i, j, influence);
        if (influence is not null || !_mirrored[i])
        {
            return plain;
        }

        (int ti, int tj) = (_twin[i], _twin[j]);
        double both = ti >= 0 && tj >= 0 ? plain + Kernel(ti, tj, null) + (sign * (Kernel(ti, j, null) + Kernel(i, tj, null)))
            : ti >= 0 ? Math.Sqrt(2) * (plain + (sign * Kernel(ti, j, null)))
            : tj >= 0 ? Math.Sqrt(2) * (plain + (sign * Kernel(i, tj, null)))
            : 2 * plain;
        return ((1 - MirroredShare) * plain) + (MirroredShare / 2 * both);
    }

    private double Kernel(int i, int j, double? influence)
    {
        double r = influence is { } reach ? Vector3d.Distance(_head[i], _head[j]) / reach : Vector3d.Distance(_atlas[i], _atlas[j]) / Reach;
        double own = influence is null ? _own[i] : OwnShareByHand;
        return WendlandKernel.At(r) + (i == j ? own : 0);
    }

    private bool IsSymmetric(int region)
    {
        double sum = 0;
        int count = 0;
        for (int i = 0; i < _region.Length; i++)
        {
            if (_region[i] == region && _twin[i] >= 0)
            {
                sum += (_head[i] - MirroredPoints.Mirror(_head[_twin[i]])).LengthSquared;
                count++;
            }
        }

        return count > 0 && sum <= count * MostAsymmetric * MostAsymmetric;
    }

    // A midline joint is its own twin; -1 where a joint has none in its region.
    private static int[] Twins(IReadOnlyList<JointPlacement> placed, IReadOnlyDictionary<string, string> twins)
    {
        var byName = placed.Select((joint, i) => (joint.Joint.Name, i)).ToDictionary(j => j.Name, j => j.i, StringComparer.Ordinal);
        return [.. placed.Select((joint, i) => joint.Joint.Side == Side.Middle ? i
            : twins.TryGetValue(joint.Joint.Name, out string? name) && placed[byName[name]].Joint.Region == joint.Joint.Region ? byName[name]
            : -1)];
    }
}
