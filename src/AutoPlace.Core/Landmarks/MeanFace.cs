using System.Numerics;
using System.Runtime.InteropServices;
using AutoPlace.Conditioning;
using AutoPlace.Geometry;

namespace AutoPlace.Landmarks;

/// <summary>
/// Points of the mean face, laid on a scan by closeness. Where they come to rest follows from the scan alone, however the
/// head lies in its file and whatever looking at it missed by a few degrees: what is drawn from there is always the same.
/// </summary>
public sealed class MeanFace
{
    private const int Unknowns = 7, MostRounds = 60, Block = 64;

    /// <summary>Distance at which a point's pull has dropped to half, units of the mean face: hair and beards lie farther off.</summary>
    private const double HalfWeightDistance = 0.12;

    /// <summary>Below this distance a triangle's normal tells the direction better, interocular distances.</summary>
    private const double Touching = 1e-6;

    /// <summary>The face rests when a round moves it by less: interocular distances, radians, shares of the unit. Single precision of the scan.</summary>
    private const double AtRest = 3e-8;

    /// <summary>A face that settles farther away has slid off: cosine of the turn (4 degrees), interocular distances, share of the unit.</summary>
    private const double LeastAlignment = 0.9976, FarthestPlace = 0.15, MostScaling = 0.12;

    /// <summary>What is farther outside the box round the face than this pulls hardly, interocular distances.</summary>
    private const float Margin = 0.4f;

    /// <summary>Rounding of a distance in single precision, with room to spare.</summary>
    private const double Slack = 1e-5;

    private readonly Vector3d[] _points;
    private readonly (Vector3 Low, Vector3 High) _box;

    /// <summary>Takes the points.</summary>
    /// <param name="points">Points of the mean face away from lids, lips and nostrils, atlas coordinates.</param>
    public MeanFace(IEnumerable<Vector3d> points)
    {
        ArgumentNullException.ThrowIfNull(points);
        _points = [.. points];
        (Vector3 low, Vector3 high) = (new(float.PositiveInfinity), new(float.NegativeInfinity));
        foreach (Vector3d p in _points)
        {
            (low, high) = (Vector3.Min(low, (Vector3)p), Vector3.Max(high, (Vector3)p));
        }

        _box = (low - new Vector3(Margin), high + new Vector3(Margin));
    }

    /// <summary>
    /// The frame in which the mean face lies closest to a scan: the local minimum of a robust sum of squared distances, by
    /// Gauss-Newton steps. Costs about ten closest points for each of its points, after a hierarchy over the scan.
    /// </summary>
    /// <param name="frame">Where the head is, to a few degrees.</param>
    /// <param name="scan">The scan, file coordinates.</param>
    /// <returns>The frame; the given one where the face finds no rest near it.</returns>
    public HeadFrame Settle(HeadFrame frame, TriangleMesh scan)
    {
        ArgumentNullException.ThrowIfNull(frame);
        ArgumentNullException.ThrowIfNull(scan);
        BoundingVolumeHierarchy surface = Around(frame, scan);
        SimilarityTransform pose = SimilarityTransform.Identity;
        double[] reach = new double[_points.Length], step = new double[Unknowns];
        Array.Fill(reach, double.PositiveInfinity);
        for (int round = 0; round < MostRounds; round++)
        {
            if (Equations(surface, pose, reach, step) is not { } equations)
            {
                return frame;
            }

            equations.Solve(step);
            SimilarityTransform moved = Moved(pose, step);
            for (int i = 0; i < reach.Length; i++)
            {
                reach[i] += Vector3d.Distance(pose.Apply(_points[i]), moved.Apply(_points[i]));
            }

            pose = moved;
            if (step.All(s => Math.Abs(s) < AtRest))
            {
                break;
            }
        }

        return IsNear(pose) ? FrameEstimator.Reframe(frame, pose) : frame;
    }

    // The scan around the face, in the frame.
    private BoundingVolumeHierarchy Around(HeadFrame frame, TriangleMesh scan)
    {
        Vector3[] positions = frame.ToHead(scan.Positions);
        bool[] inside = Array.ConvertAll(positions, p => Vector3.Clamp(p, _box.Low, _box.High) == p);
        TriangleMesh mesh = scan.WithPositions(positions);
        var near = new List<int>();
        ReadOnlySpan<int> corners = mesh.Indices;
        for (int t = 0; t < mesh.TriangleCount; t++)
        {
            if (inside[corners[3 * t]] || inside[corners[(3 * t) + 1]] || inside[corners[(3 * t) + 2]])
            {
                near.Add(t);
            }
        }

        return new BoundingVolumeHierarchy(near.Count > 0 ? mesh.Subset(CollectionsMarshal.AsSpan(near)) : mesh);
    }

    // Factored normal equations of the distances along the lines to the closest points: turn, shift, logarithm of the unit;
    // the right side replaces the step. No closest point lies farther than within reach; the new distances become it.
    private BlockedCholesky? Equations(BoundingVolumeHierarchy surface, SimilarityTransform pose, double[] reach, double[] step)
    {
        double half = HalfWeightDistance * pose.Scale;
        var sums = new double[Blocks(_points.Length)][];
        Parallel.For(0, sums.Length, block =>
        {
            double[] sum = sums[block] = new double[Unknowns * (Unknowns + 1)];
            for (int p = block * Block; p < Math.Min(_points.Length, (block + 1) * Block); p++)
            {
                reach[p] = Add(surface, pose, p, reach[p], half, sum);
            }
        });
        var matrix = new SymmetricMatrix(Unknowns);
        Array.Clear(step);
        foreach (double[] sum in sums)
        {
            for (int i = 0; i < Unknowns; i++)
            {
                step[i] -= sum[(Unknowns * Unknowns) + i];
                Span<double> row = matrix.Row(i);
                for (int j = 0; j <= i; j++)
                {
                    row[j] += sum[(Unknowns * i) + j];
                }
            }
        }

        return BlockedCholesky.TryFactor(matrix);
    }

    // Adds a point's share; returns how far the scan is from it.
    private double Add(BoundingVolumeHierarchy surface, SimilarityTransform pose, int index, double reach, double half, Span<double> sum)
    {
        Vector3d arm = (pose.Rotation * _points[index]) * pose.Scale, at = arm + pose.Translation;
        SurfaceProximity near = surface.ClosestPoint((Vector3)at, (float)(reach * (1 + Slack) + Slack));
        Vector3d apart = at - near.Position;
        double distance = apart.Length;
        Vector3d normal = distance > Touching ? apart / distance : Normal(surface.Mesh, near.Point.Triangle);
        double trust = 1 / (1 + (distance * distance / (half * half)));
        Vector3d turn = Vector3d.Cross(arm, normal);
        ReadOnlySpan<double> slope = [turn.X, turn.Y, turn.Z, normal.X, normal.Y, normal.Z, Vector3d.Dot(arm, normal)];
        double residual = Vector3d.Dot(apart, normal);
        for (int i = 0; i < Unknowns; i++)
        {
            double weighted = trust * trust * slope[i];
            sum[(Unknowns * Unknowns) + i] += weighted * residual;
            for (int j = 0; j <= i; j++)
            {
                sum[(Unknowns * i) + j] += weighted * slope[j];
            }
        }

        return distance;
    }

    private static int Blocks(int points) => (points + Block - 1) / Block;

    private static SimilarityTransform Moved(SimilarityTransform pose, double[] step)
    {
        var turn = new Vector3d(step[0], step[1], step[2]);
        Matrix3d axes = pose.Rotation.Transposed();
        Vector3d left = (axes.Row0 + Vector3d.Cross(turn, axes.Row0)).Normalized(), up = axes.Row1 + Vector3d.Cross(turn, axes.Row1);
        up = (up - (left * Vector3d.Dot(left, up))).Normalized();
        return new SimilarityTransform(
            pose.Scale * Math.Exp(step[6]),
            Matrix3d.FromColumns(left, up, Vector3d.Cross(left, up)),
            pose.Translation + new Vector3d(step[3], step[4], step[5]));
    }

    private static bool IsNear(SimilarityTransform pose) =>
        pose.Rotation.Row0.X + pose.Rotation.Row1.Y + pose.Rotation.Row2.Z >= 1 + (2 * LeastAlignment)
        && pose.Translation.Length <= FarthestPlace
        && Math.Abs(Math.Log(pose.Scale)) <= MostScaling;

    private static Vector3d Normal(TriangleMesh mesh, int triangle)
    {
        (Vector3 a, Vector3 b, Vector3 c) = mesh.Corners(triangle);
        return ((Vector3d)Vector3.Cross(b - a, c - a)).Normalized();
    }
}
