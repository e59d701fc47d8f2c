using System.Numerics;
using AutoPlace.Geometry;
using AutoPlace.Template;

namespace AutoPlace.Registration;

/// <summary>
/// How far apart a head's two ears are matched. Ears keep their shape, so one motion of a rigid body lays the left one
/// over the mirror image of the right one: iterated nearest planes (Chen and Medioni 1992; from memory) both ways, so
/// that neither side comes first. The motion that the map from the atlas implies should be the same; what it has beside
/// a motion, an ear that is bent, stays as the map has it.
/// </summary>
internal sealed class MirroredEars
{
    // Interocular distances: an ear's points are this near to its joints; the joints' surroundings follow, less and less.
    private const double Extent = 0.2, FullEnd = 0.2, FollowingEnd = 0.4;

    /// <summary>Distance at which a point counts half, interocular distances.</summary>
    private const double HalfWeight = 0.03;

    /// <summary>Points that lie next to each other err alike: so many count as one.</summary>
    private const double Alike = 5;

    // Standard deviations of the motion: interocular distances and radians.
    private const double ShiftSigma = 0.15, TurnSigma = 0.3;

    /// <summary>Farthest that the other ear's skin may be, interocular distances.</summary>
    private const double Reach = 0.15;

    /// <summary>Cosine of the angle between the normals from which on a point counts.</summary>
    private const double Facing = 0.4;

    // Root mean square distance after fitting, interocular distances: up to the first it counts fully, from the second
    // on the two are no such ears.
    private const double GoodFit = 0.015, NoFit = 0.025;

    /// <summary>Share of the points that find the other ear, at least.</summary>
    private const double LeastMatched = 0.8;

    private const int Rounds = 12;

    private readonly Vector3d[] _joints;
    private readonly Vector3d[] _points;

    /// <summary>Spreads points over the left ear of a template.</summary>
    public MirroredEars(JointLattice lattice, TriangleMesh skin, Vector3[] normals)
    {
        _joints = [.. lattice.Joints.Where(joint => joint is { Region: "ear", Side: Side.Left, Ride: Ride.Skin, SkinPoint: not null }).Select(joint => joint.SkinPoint!.Value)];
        var points = MirroredPoints.Spread(skin, normals, p => DistanceToJoints(p) < Extent, 0);
        _points = [.. points.Points.Take(points.PairCount)];
    }

    /// <summary>Measures how far apart the ears are matched; half of it goes to either side.</summary>
    /// <param name="warp">Map from the atlas to the head.</param>
    /// <param name="skin">The head's skin.</param>
    /// <returns>For an atlas point by how much its place on the head is to be moved; null where the head has no two ears alike.</returns>
    public Func<Vector3d, Vector3d>? Measure(HeadWarp warp, SkinSurface skin)
    {
        SkinPlace?[] left = [.. _points.Select(p => skin.Nearest(warp.Apply(p), Reach))];
        SkinPlace?[] right = [.. _points.Select(p => skin.Nearest(warp.Apply(MirroredPoints.Mirror(p)), Reach))];
        (SkinPlace Left, SkinPlace Right)[] pairs =
            [.. left.Zip(right).Where(pair => pair is { First: not null, Second: not null }).Select(pair => (pair.First!.Value, pair.Second!.Value))];
        if (_points.Length == 0 || pairs.Length < LeastMatched * _points.Length)
        {
            return null;
        }

        Vector3d centre = pairs.Aggregate(Vector3d.Zero, (sum, pair) => sum + pair.Left.Position + MirroredPoints.Mirror(pair.Right.Position)) / (2 * pairs.Length);
        SimilarityTransform over = new(1, Matrix3d.Identity, Vector3d.Zero);
        double trust = 0;
        for (int round = 0; round < Rounds; round++)
        {
            (over, double distance, double matched) = Step(over, centre, pairs, skin);
            trust = matched < LeastMatched ? 0 : Math.Clamp((NoFit - distance) / (NoFit - GoodFit), 0, 1);
        }

        SimilarityTransform implied = ProcrustesAlignment.Align(
            [.. _points.Select(warp.Apply)],
            [.. _points.Select(p => MirroredPoints.Mirror(warp.Apply(MirroredPoints.Mirror(p))))],
            allowScale: false);
        return trust > 0 ? atlas => Move(atlas, warp, over, implied, trust) : null;
    }

    // The map takes the left ear's point to another place on the mirrored right ear: both go half of the way.
    private Vector3d Move(Vector3d atlas, HeadWarp warp, SimilarityTransform over, SimilarityTransform implied, double trust)
    {
        Vector3d left = atlas with { X = Math.Abs(atlas.X) };
        double share = trust * Math.Clamp((FollowingEnd - DistanceToJoints(left)) / (FollowingEnd - FullEnd), 0, 1);
        if (!(share > 0))
        {
            return Vector3d.Zero;
        }

        Vector3d at = warp.Apply(left);
        Vector3d apart = (over.Apply(at) - implied.Apply(at)) * (share / 2);
        return atlas.X >= 0 ? -(over.Rotation.Transposed() * apart) : MirroredPoints.Mirror(apart);
    }

    private double DistanceToJoints(Vector3d left)
    {
        double squared = double.PositiveInfinity;
        foreach (Vector3d joint in _joints)
        {
            squared = Math.Min(squared, (joint - left).LengthSquared);
        }

        return Math.Sqrt(squared);
    }

    // One step of Gauss and Newton for the motion that lays the left ear over the mirrored right one.
    private static (SimilarityTransform Over, double Distance, double Matched) Step(
        SimilarityTransform over, Vector3d centre, (SkinPlace Left, SkinPlace Right)[] pairs, SkinSurface skin)
    {
        var planes = new (Vector3d At, Vector3d Normal, double Gap, double Weight)[2 * pairs.Length];
        Matrix3d back = over.Rotation.Transposed();
        Parallel.For(0, pairs.Length, k =>
        {
            (SkinPlace a, SkinPlace b) = pairs[k];
            Vector3d at = over.Apply(a.Position), turned = over.Rotation * a.Normal;
            if (skin.Nearest(MirroredPoints.Mirror(at), Reach) is { } right)
            {
                Vector3d normal = MirroredPoints.Mirror(right.Normal);
                double gap = Vector3d.Dot(MirroredPoints.Mirror(right.Position) - at, normal);
                planes[2 * k] = (at, normal, gap, Weight(Vector3d.Dot(normal, turned), gap));
            }

            Vector3d twin = MirroredPoints.Mirror(b.Position);
            if (skin.Nearest(back * (twin - over.Translation), Reach) is { } left)
            {
                (Vector3d from, Vector3d normal) = (over.Apply(left.Position), over.Rotation * left.Normal);
                double gap = Vector3d.Dot(twin - from, normal);
                planes[(2 * k) + 1] = (from, normal, gap, Weight(Vector3d.Dot(normal, MirroredPoints.Mirror(b.Normal)), gap));
            }
        });
        (double[] motion, double distance, double matched) = Solve(planes, centre);
        var turn = new Vector3d(motion[0], motion[1], motion[2]);
        double half = turn.Length / 2;
        Vector3d axis = turn.Normalized() * Math.Sin(half);
        Matrix3d rotation = new Rotation3d(axis.X, axis.Y, axis.Z, Math.Cos(half)).ToMatrix();
        Vector3d shift = rotation * (over.Translation - centre) + centre + new Vector3d(motion[3], motion[4], motion[5]);
        return (new SimilarityTransform(1, rotation * over.Rotation, shift), distance, matched);

        static double Weight(double facing, double gap) =>
            Math.Max(0, (facing - Facing) / (1 - Facing)) / (1 + (gap * gap / (HalfWeight * HalfWeight)));
    }

    // Turn about the centre and shift by least squares, with what they usually are as a prior.
    private static (double[] Motion, double Distance, double Matched) Solve(
        (Vector3d At, Vector3d Normal, double Gap, double Weight)[] planes, Vector3d centre)
    {
        const double Prior = HalfWeight * HalfWeight * Alike;
        var matrix = new SymmetricMatrix(6);
        double[] motion = new double[6];
        (double squares, int matched) = (0, 0);
        Span<double> row = stackalloc double[6];
        foreach ((Vector3d at, Vector3d normal, double gap, double weight) in planes)
        {
            Vector3d lever = Vector3d.Cross(at - centre, normal);
            (row[0], row[1], row[2], row[3], row[4], row[5]) = (lever.X, lever.Y, lever.Z, normal.X, normal.Y, normal.Z);
            for (int i = 0; i < 6; i++)
            {
                Span<double> target = matrix.Row(i);
                for (int j = 0; j <= i; j++)
                {
                    target[j] += weight * row[i] * row[j];
                }

                motion[i] += weight * row[i] * gap;
            }

            squares += weight > 0 ? gap * gap : 0;
            matched += weight > 0 ? 1 : 0;
        }

        for (int i = 0; i < 6; i++)
        {
            matrix.Row(i)[i] += Prior / (i < 3 ? TurnSigma * TurnSigma : ShiftSigma * ShiftSigma);
        }

        BlockedCholesky.TryFactor(matrix)!.Solve(motion);
        return (motion, Math.Sqrt(squares / Math.Max(1, matched)), (double)matched / planes.Length);
    }
}
