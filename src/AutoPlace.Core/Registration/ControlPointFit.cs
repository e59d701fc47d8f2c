using AutoPlace.Geometry;
using AutoPlace.Landmarks;

namespace AutoPlace.Registration;

/// <summary>Where an atlas point lies on a head, as far as the correspondences around it say.</summary>
/// <param name="Atlas">The atlas point.</param>
/// <param name="Head">Its place on the head, head frame, interocular distances.</param>
/// <param name="Variance">Variance of each coordinate of that place, squared interocular distances.</param>
/// <param name="Lip">The lip that it is of, see <see cref="LipSides"/>.</param>
public readonly record struct ControlPoint(Vector3d Atlas, Vector3d Head, double Variance, double Lip = 0);

/// <summary>
/// Turns many noisy correspondences into few reliable ones: at each control point of the atlas a weighted affine map
/// is fitted to the nearest correspondences, with robust reweighting, and read off at the control point.
/// </summary>
public static class ControlPointFit
{
    /// <summary>Reach of a fit in the atlas, interocular distances.</summary>
    internal const double Reach = 0.4;

    private const double KernelSigma = 0.15;
    private const int MostNeighbours = 160;

    /// <summary>Below so many neighbours that face as expected a fit says nothing; from twice as many on it stands alone.</summary>
    private const int FewestNeighbours = 12;

    private const int Rounds = 4;

    /// <summary>Weight of the whole head's similarity as a prior for the linear part, in units of summed sample weight times squared distance.</summary>
    private const double PriorStrength = 0.02;

    /// <summary>Standard deviation that no number of correspondences gets below, interocular distances: the network's errors are correlated.</summary>
    private const double CommonSigma = 0.012;

    /// <summary>Standard deviation of the mean head's shape as a guess of what isn't seen, interocular distances.</summary>
    private const double UnseenSigma = 0.25;

    /// <summary>Fits every control point.</summary>
    /// <param name="controls">Control points of the atlas.</param>
    /// <param name="normals">Unit outward normals of the atlas there.</param>
    /// <param name="samples">Correspondences on the skin.</param>
    /// <param name="atlasToHead">The whole head's similarity.</param>
    /// <param name="lips">For each control point the lip that it is of (<see cref="LipSides"/>); null for no lips.</param>
    /// <param name="seenLips">For each correspondence likewise.</param>
    /// <returns>
    /// All control points; one without enough correspondences around it (the back of the head, a covered ear) is where
    /// the whole head's similarity has it, with a wide variance, so that the warp doesn't run away there.
    /// </returns>
    public static IReadOnlyList<ControlPoint> Fit(
        ReadOnlySpan<Vector3d> controls,
        ReadOnlySpan<Vector3d> normals,
        IReadOnlyList<Correspondence> samples,
        SimilarityTransform atlasToHead,
        double[]? lips = null,
        double[]? seenLips = null)
    {
        if (controls.Length != normals.Length)
        {
            throw new ArgumentException($"{normals.Length} normals for {controls.Length} control points.", nameof(normals));
        }

        var grid = new SampleGrid(samples, Reach / 2);
        Correspondence[] all = [.. samples];
        Vector3d[] points = controls.ToArray();
        Vector3d[] outward = normals.ToArray();
        lips ??= new double[points.Length];
        seenLips ??= new double[all.Length];
        var fitted = new ControlPoint?[points.Length];
        Parallel.For(
            0,
            points.Length,
            () => new LocalAffineFit(MostNeighbours),
            (i, _, fit) =>
            {
                grid.Nearest(points[i], Reach, MostNeighbours, fit.Neighbours);
                fitted[i] = fit.Solve(points[i], outward[i], lips[i], all, seenLips, atlasToHead);
                return fit;
            },
            _ => { });
        var result = new ControlPoint[points.Length];
        for (int i = 0; i < result.Length; i++)
        {
            result[i] = (fitted[i] ?? Unseen(points[i], atlasToHead)) with { Lip = lips[i] };
        }

        return result;
    }

    private static ControlPoint Unseen(Vector3d control, SimilarityTransform atlasToHead) =>
        new(control, atlasToHead.Apply(control), UnseenSigma * UnseenSigma);

    // Scratch memory and solver for one control point after the other.
    private sealed class LocalAffineFit(int most)
    {
        private readonly Sample[] _samples = new Sample[most];
        private readonly double[] _matrix = new double[16];
        private readonly Vector3d[] _right = new Vector3d[4];

        public NeighbourList Neighbours { get; } = new();

        public ControlPoint? Solve(
            Vector3d control, Vector3d normal, double lip, ReadOnlySpan<Correspondence> all, ReadOnlySpan<double> lips, SimilarityTransform atlasToHead)
        {
            Span<Sample> samples = _samples.AsSpan(0, Neighbours.Count);
            double facing = 0;
            Vector3d headNormal = atlasToHead.ApplyToDirection(normal);
            for (int k = 0; k < samples.Length; k++)
            {
                ref readonly Correspondence s = ref all[Neighbours.Kept[k]];

                // The other lip or the other lid is near in the atlas, but faces another way, or is known to be the other one.
                double agreement = Math.Max(0, (Vector3d.Dot(s.Normal, headNormal) + 0.2) / 1.2) * LipSides.Say(lip, lips[Neighbours.Kept[k]]);
                Vector3d apart = s.Atlas - control;
                double variance = s.Sigma * s.Sigma;
                double weight = agreement * agreement * Math.Exp(-apart.LengthSquared / (2 * KernelSigma * KernelSigma)) / variance;
                samples[k] = new Sample(apart, s.Head, weight, 1 / (4 * variance));
                facing += Math.Clamp((agreement - 0.2) / 0.2, 0, 1);
            }

            double share = Math.Clamp((facing - FewestNeighbours) / FewestNeighbours, 0, 1);
            return share > 0 && SolveRobustly(control, samples, atlasToHead) is { } fitted
                ? Blend(Unseen(control, atlasToHead), fitted, share)
                : null;
        }

        // Between a guess and a fit without a step, so that one neighbour more or less hardly moves the point.
        private static ControlPoint Blend(ControlPoint guess, ControlPoint fitted, double share) => fitted with
        {
            Head = (guess.Head * (1 - share)) + (fitted.Head * share),
            Variance = 1 / (((1 - share) / guess.Variance) + (share / fitted.Variance)),
        };

        private ControlPoint? SolveRobustly(Vector3d control, ReadOnlySpan<Sample> samples, SimilarityTransform atlasToHead)
        {
            Vector3d value = atlasToHead.Apply(control);
            Matrix3d linear = atlasToHead.Rotation * atlasToHead.Scale;
            double spread = 0, total = 0;
            for (int round = 0; round < Rounds; round++)
            {
                (total, double robust) = Accumulate(value, linear, samples, round > 0, out spread);
                if (!(robust > 0) || !SolveNormalEquations(total, atlasToHead, out value, out linear))
                {
                    return null;
                }
            }

            // Neighbouring pixels err alike, so the number of samples counts by its square root at most.
            double variance = (spread / Math.Sqrt(Math.Max(1, samples.Length))) + (CommonSigma * CommonSigma);
            return new ControlPoint(control, value, variance);
        }

        private (double Total, double Robust) Accumulate(
            Vector3d value, Matrix3d linear, ReadOnlySpan<Sample> samples, bool reweight, out double spread)
        {
            double total = 0, robust = 0, squares = 0;
            Vector3d first = Vector3d.Zero, right = Vector3d.Zero, rightX = Vector3d.Zero, rightY = Vector3d.Zero, rightZ = Vector3d.Zero;
            (double xx, double xy, double yy, double xz, double yz, double zz) = (0, 0, 0, 0, 0, 0);
            foreach (ref readonly Sample s in samples)
            {
                Vector3d d = s.Apart;
                double r2 = (s.Head - value - (linear * d)).LengthSquared;
                double weight = reweight ? s.Weight / (1 + (r2 * s.Sharpness)) : s.Weight;
                total += s.Weight;
                robust += weight;
                squares += weight * r2;
                Vector3d weighted = d * weight;
                first += weighted;
                (xx, xy, yy) = (xx + (weighted.X * d.X), xy + (weighted.X * d.Y), yy + (weighted.Y * d.Y));
                (xz, yz, zz) = (xz + (weighted.X * d.Z), yz + (weighted.Y * d.Z), zz + (weighted.Z * d.Z));
                right += s.Head * weight;
                rightX += s.Head * weighted.X;
                rightY += s.Head * weighted.Y;
                rightZ += s.Head * weighted.Z;
            }

            (_matrix[0], _matrix[4], _matrix[8], _matrix[12]) = (robust, first.X, first.Y, first.Z);
            (_matrix[5], _matrix[9], _matrix[10]) = (xx, xy, yy);
            (_matrix[13], _matrix[14], _matrix[15]) = (xz, yz, zz);
            (_right[0], _right[1], _right[2], _right[3]) = (right, rightX, rightY, rightZ);
            spread = robust > 0 ? squares / (3 * robust) : 0;
            return (total, robust);
        }

        // Four unknown vectors (value and three columns of the linear part) by Cholesky of the 4 x 4 matrix.
        private bool SolveNormalEquations(double total, SimilarityTransform atlasToHead, out Vector3d value, out Matrix3d linear)
        {
            double prior = PriorStrength * KernelSigma * KernelSigma * total;
            Matrix3d columns = (atlasToHead.Rotation * atlasToHead.Scale).Transposed();
            ReadOnlySpan<Vector3d> expected = [columns.Row0, columns.Row1, columns.Row2];
            for (int i = 1; i < 4; i++)
            {
                _matrix[(4 * i) + i] += prior;
                _right[i] += expected[i - 1] * prior;
            }

            for (int i = 0; i < 4; i++)
            {
                for (int j = 0; j <= i; j++)
                {
                    double sum = _matrix[(4 * i) + j];
                    for (int k = 0; k < j; k++)
                    {
                        sum -= _matrix[(4 * i) + k] * _matrix[(4 * j) + k];
                    }

                    if (i == j && !(sum > 0))
                    {
                        (value, linear) = (default, default);
                        return false;
                    }

                    _matrix[(4 * i) + j] = i == j ? Math.Sqrt(sum) : sum / _matrix[(4 * j) + j];
                }
            }

            for (int i = 0; i < 4; i++)
            {
                for (int k = 0; k < i; k++)
                {
                    _right[i] -= _right[k] * _matrix[(4 * i) + k];
                }

                _right[i] /= _matrix[(4 * i) + i];
            }

            for (int i = 3; i >= 0; i--)
            {
                for (int k = i + 1; k < 4; k++)
                {
                    _right[i] -= _right[k] * _matrix[(4 * k) + i];
                }

                _right[i] /= _matrix[(4 * i) + i];
            }

            value = _right[0];
            linear = Matrix3d.FromColumns(_right[1], _right[2], _right[3]);
            return true;
        }

        /// <summary>A correspondence as seen from a control point: offset in the atlas, weight, and by how much a squared residual lowers that.</summary>
        private readonly record struct Sample(Vector3d Apart, Vector3d Head, double Weight, double Sharpness);
    }
}
