using AutoPlace.Geometry;
using AutoPlace.Template;

namespace AutoPlace.Registration;

/// <summary>
/// How far apart a head's two sides are matched along the skin, about brow and nose, where the skin keeps its relief.
/// Where the map from the atlas is right, a point and its mirror image show the same relief, turned over; where it
/// isn't, the relief tells by how much one slides past the other: by the normals of both sides, less their mean round
/// about, linearised along the skin (Lucas and Kanade 1981) and smooth from point to point (Horn and Schunck 1981;
/// both from memory). Cheeks, lids and mouth are left out: there an expression changes the relief itself.
/// </summary>
internal sealed class MirroredSlide
{
    // Interocular distances: how far from joints of brow and nose normals are taken, the blur of the relief, and that of
    // the mean round about it.
    private const double Extent = 0.35, Blur = 0.045, Round = 0.22;

    /// <summary>Windows end at so many of their standard deviations.</summary>
    private const double Cut = 2.5;

    /// <summary>Standard deviation by which the sides' normals differ on a symmetric head. On puppets and expressions 0.03 to 0.05 come out alike.</summary>
    private const double NormalSigma = 0.045;

    /// <summary>Standard deviation of the slide, interocular distances: large against what the network misses of a shift on one side, about half, so that the relief decides.</summary>
    private const double SlideSigma = 0.2;

    /// <summary>Weight of the difference to the mean of the neighbours, over that of the slide itself.</summary>
    private const double Stiffness = 40;

    /// <summary>Neighbours in that sense lie within this distance.</summary>
    private const double NextTo = 0.1;

    private const int Rounds = 6, Sweeps = 20;

    /// <summary>Farthest that the skin may be from where the map has it, interocular distances.</summary>
    private const double Reach = 0.12;

    private readonly MirroredPoints _points;
    private readonly bool[] _compared;
    private readonly Vector3d[] _first, _second;
    private readonly Neighbour[][] _neighbours;

    /// <summary>Spreads points about brow and nose of a template.</summary>
    public MirroredSlide(JointLattice lattice, TriangleMesh skin, System.Numerics.Vector3[] normals)
    {
        ControlJoint[] joints = [.. lattice.Joints.Where(joint => joint is { Ride: Ride.Skin, SkinPoint: not null })];
        Vector3d[] firm = [.. joints.Where(IsFirm).Select(joint => joint.SkinPoint!.Value)];
        _points = MirroredPoints.Spread(skin, normals, p => firm.Any(f => Vector3d.Distance(f, p) < Extent), Cut * Round);
        _compared = [.. _points.Points.Take(_points.PairCount).Select(p => IsFirm(joints.MinBy(joint => Vector3d.Distance(joint.SkinPoint!.Value, p))!))];
        _neighbours = [.. Enumerable.Range(0, _points.Points.Count).Select(i => _points.Neighbours(i).ToArray().Select(Weighted).ToArray())];
        _first = new Vector3d[_points.PairCount];
        _second = new Vector3d[_points.PairCount];
        for (int k = 0; k < _first.Length; k++)
        {
            (_first[k], _second[k]) = _points.Normals[k].AxesAcross();
        }

        static bool IsFirm(ControlJoint joint) => joint.Region is "brow" or "nose";

        static Neighbour Weighted((int Index, double DistanceSquared) n) =>
            new(n.Index, Weight(n.DistanceSquared, Blur), Weight(n.DistanceSquared, Round), n.DistanceSquared < NextTo * NextTo);

        static double Weight(double squared, double sigma) =>
            squared < Cut * Cut * sigma * sigma ? Math.Exp(-squared / (2 * sigma * sigma)) : 0;
    }

    /// <summary>Measures the slide; half of it goes to either side.</summary>
    /// <param name="warp">Map from the atlas to the head.</param>
    /// <param name="skin">The head's skin.</param>
    /// <returns>For an atlas point the vector to the atlas point that its place on the head really shows.</returns>
    public Func<Vector3d, Vector3d> Measure(HeadWarp warp, SkinSurface skin)
    {
        Vector3d[] slide = new Vector3d[_points.Points.Count];
        for (int round = 0; round < Rounds; round++)
        {
            var equations = new Equation[_points.PairCount];
            (Vector3d[] relief, double[] valid) = Relief(warp, skin, slide);
            Vector3d[] common = [.. relief.Select((r, i) => (r + MirroredPoints.Mirror(relief[_points.Twin(i)])) * 0.5)];
            Parallel.For(0, equations.Length, k => equations[k] = Linearised(k, relief, common, valid, slide[k]));
            slide = Smoothed(slide, equations);
        }

        return atlas => Interpolated(slide, atlas);
    }

    // Normals of the skin at all points, less their mean round about; and whether both sides have skin there.
    private (Vector3d[] Relief, double[] Valid) Relief(HeadWarp warp, SkinSurface skin, Vector3d[] slide)
    {
        var normals = new Vector3d[slide.Length];
        double[] seen = new double[slide.Length];
        Parallel.For(0, slide.Length, i =>
        {
            Vector3d expected = warp.Apply(_points.Points[i] - (slide[i] * 0.5));
            if (skin.Nearest(expected, Reach) is { } place)
            {
                normals[i] = place.Normal;
                double facing = (Vector3d.Dot(place.Normal, _points.Normals[i]) - 0.2) / 0.3;
                double near = 2 - (2 * Vector3d.Distance(place.Position, expected) / Reach);
                seen[i] = Math.Clamp(facing, 0, 1) * Math.Clamp(near, 0, 1);
            }
        });
        double[] valid = [.. seen.Select((s, i) => s * seen[_points.Twin(i)])];
        var relief = new Vector3d[slide.Length];
        Parallel.For(0, slide.Length, i => relief[i] = Relief(i, normals, valid));
        return (relief, valid);
    }

    private Vector3d Relief(int i, Vector3d[] normals, double[] valid)
    {
        (Vector3d near, Vector3d about) = (Vector3d.Zero, Vector3d.Zero);
        (double nearTotal, double aboutTotal) = (0, 0);
        foreach (Neighbour n in _neighbours[i])
        {
            (double nearWeight, double aboutWeight) = (valid[n.Index] * n.Blur, valid[n.Index] * n.Round);
            near += normals[n.Index] * nearWeight;
            about += normals[n.Index] * aboutWeight;
            nearTotal += nearWeight;
            aboutTotal += aboutWeight;
        }

        return nearTotal > 0 ? (near / nearTotal) - (about / aboutTotal) : Vector3d.Zero;
    }

    // How the difference of both sides at a pair depends on its slide along the skin.
    private Equation Linearised(int k, Vector3d[] relief, Vector3d[] common, double[] valid, Vector3d slide)
    {
        if (!_compared[k] || !(valid[k] > 0))
        {
            return default;
        }

        (double xx, double xy, double yy) = (0, 0, 0);
        (Vector3d byFirst, Vector3d bySecond) = (Vector3d.Zero, Vector3d.Zero);
        foreach (Neighbour n in _neighbours[k])
        {
            if (n.Blur == 0)
            {
                break;
            }

            double w = valid[n.Index] * n.Blur;
            Vector3d apart = _points.Points[n.Index] - _points.Points[k];
            (double x, double y) = (Vector3d.Dot(apart, _first[k]), Vector3d.Dot(apart, _second[k]));
            (xx, xy, yy) = (xx + (w * x * x), xy + (w * x * y), yy + (w * y * y));
            byFirst += (common[n.Index] - common[k]) * (w * x);
            bySecond += (common[n.Index] - common[k]) * (w * y);
        }

        double determinant = (xx * yy) - (xy * xy);
        if (!(determinant > 1e-3 * (xx + yy) * (xx + yy)))
        {
            return default;
        }

        Vector3d alongFirst = ((byFirst * yy) - (bySecond * xy)) / determinant;
        Vector3d alongSecond = ((bySecond * xx) - (byFirst * xy)) / determinant;
        Vector3d difference = relief[k] - MirroredPoints.Mirror(relief[_points.Twin(k)]);
        double weight = valid[k] / ((NormalSigma * NormalSigma) + (difference.LengthSquared / 4));
        difference += (alongFirst * Vector3d.Dot(slide, _first[k])) + (alongSecond * Vector3d.Dot(slide, _second[k]));
        return new Equation(
            weight * alongFirst.LengthSquared,
            weight * Vector3d.Dot(alongFirst, alongSecond),
            weight * alongSecond.LengthSquared,
            weight * Vector3d.Dot(alongFirst, difference),
            weight * Vector3d.Dot(alongSecond, difference));
    }

    // Jacobi's iteration: every pair by its own equation and the mean of its neighbours.
    private Vector3d[] Smoothed(Vector3d[] slide, Equation[] equations)
    {
        const double Rest = 1 / (SlideSigma * SlideSigma), Joined = Stiffness * Rest;
        for (int sweep = 0; sweep < Sweeps; sweep++)
        {
            Vector3d[] from = slide, to = new Vector3d[slide.Length];
            Parallel.For(0, equations.Length, k =>
            {
                Vector3d mean = Vector3d.Zero;
                int count = 0;
                foreach (Neighbour n in _neighbours[k])
                {
                    if (!n.IsNext)
                    {
                        break;
                    }

                    mean += from[n.Index];
                    count++;
                }

                Equation e = equations[k];
                (double xx, double yy) = (e.XX + Joined + Rest, e.YY + Joined + Rest);
                double x = e.X + (Joined / count * Vector3d.Dot(mean, _first[k]));
                double y = e.Y + (Joined / count * Vector3d.Dot(mean, _second[k]));
                double determinant = (xx * yy) - (e.XY * e.XY);
                to[k] = (_first[k] * (((x * yy) - (y * e.XY)) / determinant)) + (_second[k] * (((y * xx) - (x * e.XY)) / determinant));
                to[_points.Twin(k)] = -MirroredPoints.Mirror(to[k]);
            });
            slide = to;
        }

        return slide;
    }

    // Half of the slide, fading out where no points are.
    private Vector3d Interpolated(Vector3d[] slide, Vector3d atlas)
    {
        const double Sigma = 0.05, Faint = 0.1;
        Vector3d sum = Vector3d.Zero;
        double total = Faint;
        for (int i = 0; i < slide.Length; i++)
        {
            double squared = (_points.Points[i] - atlas).LengthSquared;
            if (squared < 9 * Sigma * Sigma)
            {
                double w = Math.Exp(-squared / (2 * Sigma * Sigma));
                sum += slide[i] * (w * 0.5);
                total += w;
            }
        }

        return sum / total;
    }

    // The nearest come first: weights in the two means, and whether the slide should be like that of this one.
    private readonly record struct Neighbour(int Index, double Blur, double Round, bool IsNext);

    // Normal equations of a pair for the slide along its two directions.
    private readonly record struct Equation(double XX, double XY, double YY, double X, double Y);
}
