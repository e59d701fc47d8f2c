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

    private readonly JointSequence[] _sequences;
    private readonly Dictionary<string, JointPlacement> _placed;
    private readonly (EdgeFlow Flow, Func<ControlJoint, Vector3d> Normal) _template;
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
        (_placed, _template, _head) = (placed, template, head);
        _sequences = [.. lattice.Rows, .. lattice.Columns];
        _free = placed.Values.Where(joint => OnSkin(joint.Joint) && joint.State == JointState.Modelled && !held.Contains(joint.Joint.Name))
            .Select((joint, i) => (joint.Joint.Name, i)).ToDictionary(joint => joint.Name, joint => joint.i, StringComparer.Ordinal);
        _found = [.. _free.Keys.Select(name => head.Under(name).Position)];
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
        (Vector3d X, Vector3d Y)[] axes = [.. at.Select(target => AxesAlong(target.Normal))];
        var system = new Displacements(axes);
        (IReadOnlyList<RowSpan> Flowing, int Following)[] rows = [.. _sequences.Select(SpansOf)];
        if (!rows.Any(row => row.Flowing.Count > 0) || rows.Sum(row => row.Flowing.Count) < LeastShareOfAll * rows.Sum(row => row.Following))
        {
            return false;
        }

        foreach (RowSpan span in rows.Where(row => row.Flowing.Count >= LeastShare * row.Following).SelectMany(row => row.Flowing))
        {
            system.Add(span.Weight, span.Off, [(span.First, span.Across * -1), (span.Second, span.Across)]);
        }

        Vector3d[] off = [.. at.Zip(_found, (target, found) => target.Position - found)];
        for (int i = 0; i < names.Length; i++)
        {
            double weight = 1 / Math.Clamp(_placed[names[i]].Radius90 / LatticeRegistration.Radius90Sigmas, Surest, Loosest);
            foreach (Vector3d axis in (ReadOnlySpan<Vector3d>)[axes[i].X, axes[i].Y])
            {
                system.Add(weight, Vector3d.Dot(off[i], axis), [(i, axis)]);
            }
        }

        foreach ((int before, int i, int after) in _sequences.SelectMany(Triples))
        {
            Vector3d bent = off[before] - (off[i] * 2) + off[after];
            foreach (Vector3d axis in (ReadOnlySpan<Vector3d>)[axes[i].X, axes[i].Y])
            {
                system.Add(1 / Bend, Vector3d.Dot(bent, axis), [(before, axis), (i, axis * -2), (after, axis)]);
            }
        }

        Vector3d[] moves = system.Solve();
        for (int i = 0; i < names.Length; i++)
        {
            JointPlacement was = _placed[names[i]];
            _placed[names[i]] = SurfaceJoints.Place(was.Joint, at[i].Position + moves[i], at[i].Normal, _head.Skin, was.LocalSize) with { Radius90 = was.Radius90 };
        }

        return true;
    }

    // How many spans of a row follow the flow on the template's own head, and those of them under which there is one here.
    private (IReadOnlyList<RowSpan> Flowing, int Following) SpansOf(JointSequence row)
    {
        IReadOnlyList<string> joints = row.Joints;
        var spans = new List<RowSpan>();
        int following = 0;
        for (int k = 0; k < joints.Count - (row.Closed ? 0 : 1); k++)
        {
            (string first, string second) = (joints[k], joints[(k + 1) % joints.Count]);
            (ControlJoint a, ControlJoint b) = (_placed[first].Joint, _placed[second].Joint);
            (int i, int j) = (IndexOf(first), IndexOf(second));
            if (!OnSkin(a) || !OnSkin(b) || (i < 0 && j < 0))
            {
                continue;
            }

            (double ownTurn, double ownAgreement) = Turn(
                _template.Flow, new(a.SkinPoint!.Value, _template.Normal(a)), new(b.SkinPoint!.Value, _template.Normal(b)), out _);
            if (Math.Abs(ownTurn) > Follows || ownAgreement < LeastAgreement)
            {
                continue;
            }

            following++;
            SkinTarget from = _head.Under(first), to = _head.Under(second);
            (double turn, double agreement) = Turn(_head.Flow, from, to, out Vector3d normal);
            if (agreement < LeastAgreement)
            {
                continue;
            }

            // What is across the way that it should run; one quite askew stays as it is.
            Vector3d along = to.Position - from.Position;
            double angle = turn - ownTurn, sure = Math.Abs(angle) <= MostTurn ? Math.Min(agreement, ownAgreement) : 0;
            Vector3d across = ((Vector3d.Cross(normal, along) * Math.Cos(angle)) - (along * Math.Sin(angle))).Normalized();
            spans.Add(new RowSpan(i, j, across, Vector3d.Dot(along, across), sure / (Direction * along.Length)));
        }

        return (spans, following);
    }

    private static (double Turn, double Agreement) Turn(EdgeFlow flow, SkinTarget from, SkinTarget to, out Vector3d normal)
    {
        normal = (from.Normal + to.Normal).Normalized();
        return from.Position == to.Position ? (0, 0) : flow.At((from.Position + to.Position) * 0.5, normal, to.Position - from.Position);
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

    private static (Vector3d X, Vector3d Y) AxesAlong(Vector3d normal)
    {
        Vector3d x = Vector3d.Cross(Math.Abs(normal.X) < 0.7 ? Vector3d.UnitX : Vector3d.UnitY, normal).Normalized();
        return (x, Vector3d.Cross(normal, x));
    }

    // Two neighbours of a row; by how much the second lies beside the way that it should lie in from the first.
    private readonly record struct RowSpan(int First, int Second, Vector3d Across, double Off, double Weight);

    // Normal equations of residuals that are linear in the displacements of a few joints along the skin.
    private sealed class Displacements((Vector3d X, Vector3d Y)[] axes)
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
                    row[count++] = (2 * joint, weight * Vector3d.Dot(by, axes[joint].X));
                    row[count++] = ((2 * joint) + 1, weight * Vector3d.Dot(by, axes[joint].Y));
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
            return [.. axes.Select((axis, i) => (axis.X * _right[2 * i]) + (axis.Y * _right[(2 * i) + 1]))];
        }
    }
}
