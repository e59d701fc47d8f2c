using System.Buffers;
using System.Numerics;

namespace AutoPlace.Geometry;

/// <summary>
/// How many times a surface goes round a point (Jacobson, Kavan and Sorkine-Hornung 2013, "Robust inside-outside
/// segmentation using generalized winding numbers", ACM TOG 32(4)): 1 inside and 0 outside of a closed surface wound
/// counter-clockwise, 2 where two closed surfaces overlap, and smoothly between where the surface has holes. Groups of
/// triangles far away count as one dipole with its first derivative (Barill, Dickson, Schmidt, Levin and Jacobson 2018,
/// "Fast winding numbers for soups and clouds", ACM TOG 37(4); their second derivative is left out, since what is asked
/// for is which side of 1/2 the number lies on).
/// </summary>
/// <remarks>
/// Use it where faces are wound alike and holes are small: parts, eyeballs, whole characters. A head cut at the neck is
/// still told from outside by a value of 0.5, but values near the cut say little. Where faces are turned at random, or a
/// large share of the surface is missing (masks), ask <see cref="InsideBySight"/> instead.
/// </remarks>
public sealed class WindingNumber
{
    /// <summary>Points of one task in a batch.</summary>
    private const int BatchGrain = 64;

    /// <summary>Pending nodes that fit on the stack (1 KiB); deeper trees rent their memory.</summary>
    private const int StackedItems = 256;

    private readonly BoundingVolumeHierarchy _hierarchy;
    private readonly Moments[] _moments;
    private readonly double _accuracy;

    /// <summary>Sums up the moments of all nodes, O(T).</summary>
    /// <param name="hierarchy">The mesh's hierarchy.</param>
    /// <param name="accuracy">
    /// A node counts as far away beyond this many radii, at least 1. The error falls with its square: up to 0.2 / accuracy^2
    /// for a surface that is there once. +infinity sums up all triangles.
    /// </param>
    public WindingNumber(BoundingVolumeHierarchy hierarchy, double accuracy = 3)
    {
        ArgumentNullException.ThrowIfNull(hierarchy);
        if (!(accuracy >= 1))
        {
            throw new ArgumentOutOfRangeException(nameof(accuracy), accuracy, "The accuracy must be at least 1.");
        }

        _hierarchy = hierarchy;
        _accuracy = accuracy;
        _moments = new Moments[hierarchy.Nodes.Length];
        for (int node = _moments.Length - 1; node >= 0; node--)
        {
            // Children come after their parents.
            _moments[node] = Sum(hierarchy.Nodes[node]);
        }
    }

    /// <summary>The winding number at a point. O(log T) as a rule.</summary>
    /// <param name="point">In the mesh's frame.</param>
    public double At(Vector3 point)
    {
        if (_moments.Length == 0)
        {
            return 0;
        }

        double solidAngle = 0;
        int[]? rented = _hierarchy.PendingItems > StackedItems ? ArrayPool<int>.Shared.Rent(_hierarchy.PendingItems) : null;
        Span<int> pending = rented ?? stackalloc int[StackedItems];
        int count = 1;
        pending[0] = 0;
        while (count > 0)
        {
            int item = pending[--count];
            ref readonly Moments moments = ref _moments[item];
            Vector3d offset = moments.Centre - point;
            double distance = offset.Length;
            if (distance > _accuracy * moments.Radius)
            {
                solidAngle += moments.SolidAngle(offset, distance);
                continue;
            }

            ref readonly WideNode node = ref _hierarchy.Nodes[item];
            for (int child = 0; child < node.Count; child++)
            {
                if (node[child] >= 0)
                {
                    pending[count++] = node[child];
                }
                else
                {
                    solidAngle += SolidAngle(_hierarchy.Triangles[~node[child]], point);
                }
            }
        }

        if (rented is not null)
        {
            ArrayPool<int>.Shared.Return(rented);
        }

        return solidAngle / (4 * Math.PI);
    }

    /// <summary>Winding numbers at many points; runs on several threads when there are many, with the same outcome.</summary>
    /// <param name="points">Points in the mesh's frame.</param>
    /// <param name="winding">Receives one number for each point.</param>
    /// <exception cref="ArgumentException">The spans differ in length.</exception>
    public void At(ReadOnlySpan<Vector3> points, Span<double> winding)
    {
        if (points.Length != winding.Length)
        {
            throw new ArgumentException($"{winding.Length} results for {points.Length} points.", nameof(winding));
        }

        Vector3[] input = points.ToArray();
        var output = new double[input.Length];
        Parallel.For(0, (input.Length + BatchGrain - 1) / BatchGrain, range =>
        {
            int end = Math.Min(input.Length, (range + 1) * BatchGrain);
            for (int i = range * BatchGrain; i < end; i++)
            {
                output[i] = At(input[i]);
            }
        });
        output.CopyTo(winding);
    }

    /// <summary>Signed solid angle of a triangle (Van Oosterom and Strackee 1983); positive from behind.</summary>
    private static double SolidAngle(in LeafTriangle triangle, Vector3d point)
    {
        Vector3d a = triangle.A - point, b = triangle.B - point, c = triangle.C - point;
        double la = a.Length, lb = b.Length, lc = c.Length;
        double volume = Vector3d.Dot(a, Vector3d.Cross(b, c));
        double denominator = (la * lb * lc) + (Vector3d.Dot(a, b) * lc) + (Vector3d.Dot(b, c) * la) + (Vector3d.Dot(c, a) * lb);

        // In the triangle's own plane the angle is 0 beside it and jumps across it: 0 is the mean.
        double angle = volume == 0 ? 0 : 2 * Math.Atan2(volume, denominator);
        return triangle.IsTurnedOver ? -angle : angle;
    }

    private Moments Sum(in WideNode node)
    {
        Vector3d weighted = Vector3d.Zero, areas = Vector3d.Zero, middles = Vector3d.Zero;
        double total = 0;
        for (int child = 0; child < node.Count; child++)
        {
            Moments part = Part(node[child]);
            weighted += part.Centre * part.Area;
            middles += part.Centre / node.Count;
            total += part.Area;
        }

        Vector3d centre = total > 0 ? weighted / total : middles;
        var spread = default(Matrix3d);
        double radius = 0;
        for (int child = 0; child < node.Count; child++)
        {
            Moments part = Part(node[child]);
            areas += part.Areas;
            spread += part.Spread + Matrix3d.Outer(part.Centre - centre, part.Areas);
            (Vector3 min, Vector3 max) = node.Box(child);
            radius = Math.Max(radius, Farthest(centre, min, max));
        }

        return new Moments(centre, radius, total, areas, spread);
    }

    private Moments Part(int item)
    {
        if (item >= 0)
        {
            return _moments[item];
        }

        LeafTriangle triangle = _hierarchy.Triangles[~item];
        Vector3d area = AreaOf(triangle);
        return new Moments(((Vector3d)triangle.A + triangle.B + triangle.C) / 3, 0, area.Length, area, default);
    }

    private static double Farthest(Vector3d point, Vector3 min, Vector3 max) => new Vector3d(
        Math.Max(point.X - min.X, max.X - point.X),
        Math.Max(point.Y - min.Y, max.Y - point.Y),
        Math.Max(point.Z - min.Z, max.Z - point.Z)).Length;

    private static Vector3d AreaOf(in LeafTriangle triangle)
    {
        Vector3d a = triangle.A;
        Vector3d area = Vector3d.Cross(triangle.B - a, triangle.C - a) / 2;
        return triangle.IsTurnedOver ? -area : area;
    }

    /// <summary>A group of triangles, seen from far.</summary>
    /// <param name="Centre">Mean of the triangles' middles, by area.</param>
    /// <param name="Radius">No triangle reaches farther from the centre.</param>
    /// <param name="Area">Sum of the areas.</param>
    /// <param name="Areas">Sum of area times normal.</param>
    /// <param name="Spread">Sum of (middle - centre) times (area times normal)^T.</param>
    private readonly record struct Moments(Vector3d Centre, double Radius, double Area, Vector3d Areas, Matrix3d Spread)
    {
        /// <summary>Dipole and its derivative: areas . g + trace(spread grad g) with g = d / |d|^3.</summary>
        public double SolidAngle(Vector3d offset, double distance)
        {
            double cube = distance * distance * distance;
            return (Vector3d.Dot(Areas, offset) / cube)
                + (Spread.Trace / cube)
                - (3 * Vector3d.Dot(offset, Spread * offset) / (cube * distance * distance));
        }
    }
}
