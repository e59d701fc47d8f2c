using AutoPlace.Geometry;
using AutoPlace.Template;

namespace AutoPlace.Registration;

/// <summary>
/// Turns rows and columns that follow the quads on the template's own head towards the quads of this one, as far as the fit
/// is in doubt: one sparse least-squares problem in two displacements along the skin for each joint, which weighs where a
/// joint was found, how it lies to the flow, and how evenly its row moves. After each solution the joints stand on the skin
/// in their lift again.
/// </summary>
internal sealed class RowFairing
{
    /// <summary>A row follows the flow on the template's own head within so many radians, and is turned on a head if it is off by no more.</summary>
    private const double Follows = Math.PI / 12, MostTurn = Math.PI / 6;

    /// <summary>Agreement of the faces from which on there is a flow.</summary>
    private const double LeastAgreement = 0.6;

    /// <summary>There has to be a flow under such a share of what follows it on the template's own head, of a row and of all rows together: a few quads that happen to agree are none.</summary>
    private const double LeastShare = 0.5, LeastShareOfAll = 0.25;

    /// <summary>What weighs as much as a joint that is off by its standard deviation: an angle to the flow, radians, and a bend of a row's displacements, interocular distances.</summary>
    private const double Direction = 0.05, Bend = 0.01;

    /// <summary>Standard deviation of a joint's place along the skin, at least and at most, interocular distances.</summary>
    private const double Surest = 0.01, Loosest = 0.05;

    private const int Rounds = 2;

    private readonly (JointSequence Row, OwnSpan[] Spans)[] _rows;
    private readonly Dictionary<string, JointPlacement> _placed;
    private readonly (EdgeFlow Flow, SkinSurface Skin, Func<string, SkinTarget> Under) _head;
    private readonly Dictionary<string, int> _free;
    private readonly Vector3d[] _found;

    private RowFairing(
        JointLattice lattice,
        Dictionary<string, JointPlacement> placed,
        IReadOnlySet<string> held,
        (EdgeFlow Flow, Func<ControlJoint, Vector3d> Normal) template,
        (EdgeFlow Flow, SkinSurface Skin, Func<string, SkinTarget> Under) head)
    {
        (_placed, _head) = (placed, head);
        _free = placed.Values.Where(joint => OnSkin(joint.Joint) && joint.State == JointState.Modelled && !held.Contains(joint.Joint.Name))
            .Select((joint, i) => (joint.Joint.Name, i)).ToDictionary(joint => joint.Name, joint => joint.i, StringComparer.Ordinal);
        _found = [.. _free.Keys.Select(name => head.Under(name).Position)];
        _rows = [.. lattice.Rows.Concat(lattice.Columns).Select(row => (row, FollowingSpans(row, template.Flow, template.Normal).ToArray()))];
    }

    /// <summary>Moves the joints of a placed lattice.</summary>
    /// <param name="lattice">The joints, rows and columns.</param>
    /// <param name="placed">The joints by name; those that move are replaced.</param>
    /// <param name="held">Joints that stay.</param>
    /// <param name="template">The flow of the template's own skin, and the unit normal of its skin under a joint.</param>
    /// <param name="head">The flow of the head's skin, the skin, and under a joint the point of it and how it is expected to face there.</param>
    public static void Apply(
        JointLattice lattice,
        Dictionary<string, JointPlacement> placed,
        IReadOnlySet<string> held,
        (EdgeFlow Flow, Func<ControlJoint, Vector3d> Normal) template,
        (EdgeFlow Flow, SkinSurface Skin, Func<string, SkinTarget> Under) head)
    {
        var fairing = new RowFairing(lattice, placed, held, template, head);
        for (int round = 0; round < Rounds && fairing.Solve(); round++)
        {
        }
    }

    private static bool OnSkin(ControlJoint joint) => joint is { Ride: Ride.Skin, SkinPoint: not null };

    // Returns whether any row follows a flow.
    private bool Solve()
    {
        string[] names = [.. _free.Keys];
        SkinTarget[] at = [.. names.Select(_head.Under)];
        (Vector3d First, Vector3d Second)[] axes = [.. at.Select(target => target.Normal.AxesAcross())];
        var system = new Displacements(axes);
        (RowSpan[] Flowing, int Following)[] rows = [.. _rows.Select(row => (row.Spans.Select(Flowing).OfType<RowSpan>().ToArray(), row.Spans.Length))];
        int flowing = rows.Sum(row => row.Flowing.Length);
        if (flowing == 0 || flowing < LeastShareOfAll * rows.Sum(row => row.Following))
        {
            return false;
        }

        foreach (RowSpan span in rows.Where(row => row.Flowing.Length >= LeastShare * row.Following).SelectMany(row => row.Flowing))
        {
            system.Add(span.Weight, span.Off, [(span.First, span.Across * -1), (span.Second, span.Across)]);
        }

        Vector3d[] off = [.. at.Zip(_found, (target, found) => target.Position - found)];
        for (int i = 0; i < names.Length; i++)
        {
            double weight = 1 / Math.Clamp(_placed[names[i]].Radius90 / LatticeRegistration.Radius90Sigmas, Surest, Loosest);
            foreach (Vector3d axis in (ReadOnlySpan<Vector3d>)[axes[i].First, axes[i].Second])
            {
                system.Add(weight, Vector3d.Dot(off[i], axis), [(i, axis)]);
            }
        }

        foreach ((int before, int i, int after) in _rows.SelectMany(row => Triples(row.Row)))
        {
            Vector3d bent = off[before] - (off[i] * 2) + off[after];
            foreach (Vector3d axis in (ReadOnlySpan<Vector3d>)[axes[i].First, axes[i].Second])
            {
                system.Add(1 / Bend, Vector3d.Dot(bent, axis), [(before, axis), (i, axis * -2), (after, axis)]);
            }
        }

        Vector3d[] moves = system.Solve();
        for (int i = 0; i < names.Length; i++)
        {
            _placed[names[i]] = SurfaceJoints.Moved(_placed[names[i]], at[i] with { Position = at[i].Position + moves[i] }, _head.Skin);
        }

        return true;
    }

    // Spans of a row that follow the flow on the template's own head, those between joints that both stay left out.
    private IEnumerable<OwnSpan> FollowingSpans(JointSequence row, EdgeFlow flow, Func<ControlJoint, Vector3d> normal)
    {
        IReadOnlyList<string> joints = row.Joints;
        for (int k = 0; k < joints.Count - (row.Closed ? 0 : 1); k++)
        {
            (string first, string second) = (joints[k], joints[(k + 1) % joints.Count]);
            (ControlJoint a, ControlJoint b) = (_placed[first].Joint, _placed[second].Joint);
            if (!OnSkin(a) || !OnSkin(b) || (IndexOf(first) < 0 && IndexOf(second) < 0))
            {
                continue;
            }

            (double turn, double agreement) = flow.Between(a.SkinPoint!.Value, b.SkinPoint!.Value, (normal(a) + normal(b)).Normalized());
            if (Math.Abs(turn) <= Follows && agreement >= LeastAgreement)
            {
                yield return new OwnSpan(first, second, turn, agreement);
            }
        }
    }

    // The span on the head, or null where there is no flow under it.
    private RowSpan? Flowing(OwnSpan own)
    {
        SkinTarget from = _head.Under(own.First), to = _head.Under(own.Second);
        Vector3d normal = (from.Normal + to.Normal).Normalized(), along = to.Position - from.Position;
        (double turn, double agreement) = _head.Flow.Between(from.Position, to.Position, normal);
        if (agreement < LeastAgreement)
        {
            return null;
        }

        // What is across the way that it should run; one quite askew stays as it is.
        double angle = turn - own.Turn, sure = Math.Abs(angle) <= MostTurn ? Math.Min(agreement, own.Agreement) : 0;
        Vector3d across = ((Vector3d.Cross(normal, along) * Math.Cos(angle)) - (along * Math.Sin(angle))).Normalized();
        return new RowSpan(IndexOf(own.First), IndexOf(own.Second), across, Vector3d.Dot(along, across), sure / (Direction * along.Length));
    }

    private IEnumerable<(int Before, int At, int After)> Triples(JointSequence row)
    {
        int n = row.Joints.Count;
        for (int k = row.Closed ? 0 : 1; k < n - (row.Closed ? 0 : 1); k++)
        {
            (int before, int at, int after) = (IndexOf(row.Joints[(k + n - 1) % n]), IndexOf(row.Joints[k]), IndexOf(row.Joints[(k + 1) % n]));
            if (before >= 0 && at >= 0 && after >= 0)
            {
                yield return (before, at, after);
            }
        }
    }

    // -1 for a joint that stays.
    private int IndexOf(string joint) => _free.GetValueOrDefault(joint, -1);

    // Two neighbours of a row that follows the flow on the template's own head: how it lies to it there.
    private readonly record struct OwnSpan(string First, string Second, double Turn, double Agreement);

    // Two neighbours of a row; by how much the second lies beside the way that it should lie in from the first.
    private readonly record struct RowSpan(int First, int Second, Vector3d Across, double Off, double Weight);

    // Normal equations of residuals that are linear in the displacements of a few joints along the skin.
    private sealed class Displacements((Vector3d First, Vector3d Second)[] axes)
    {
        private readonly List<(int Row, int Column, double Value)> _elements = [];
        private readonly double[] _right = new double[2 * axes.Length];

        /// <summary>Adds a residual.</summary>
        /// <param name="weight">Its weight, one over its standard deviation.</param>
        /// <param name="residual">What it is without displacements.</param>
        /// <param name="terms">By how much it grows along which direction of which joint's displacement; a joint below 0 stays.</param>
        public void Add(double weight, double residual, ReadOnlySpan<(int Joint, Vector3d By)> terms)
        {
            Span<(int Unknown, double By)> row = stackalloc (int, double)[2 * terms.Length];
            int count = 0;
            foreach ((int joint, Vector3d by) in terms)
            {
                if (joint >= 0)
                {
                    row[count++] = (2 * joint, weight * Vector3d.Dot(by, axes[joint].First));
                    row[count++] = ((2 * joint) + 1, weight * Vector3d.Dot(by, axes[joint].Second));
                }
            }

            foreach ((int i, double a) in row[..count])
            {
                _right[i] -= a * weight * residual;
                foreach ((int j, double b) in row[..count])
                {
                    if (j <= i)
                    {
                        _elements.Add((i, j, a * b));
                    }
                }
            }
        }

        /// <summary>The displacements in space.</summary>
        public Vector3d[] Solve()
        {
            var matrix = SparseSymmetricMatrix.FromElements(_right.Length, [.. _elements]);
            SparseCholesky factor = new SparseCholeskyAnalysis(matrix).TryFactor(matrix)
                ?? throw new InvalidOperationException("The normal equations of the joints' displacements aren't positive definite.");
            factor.Solve(_right);
            return [.. axes.Select((axis, i) => (axis.First * _right[2 * i]) + (axis.Second * _right[(2 * i) + 1]))];
        }
    }
}
