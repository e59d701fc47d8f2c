using System.Numerics;
using AutoPlace.Geometry;

namespace AutoPlace.Registration;

/// <summary>
/// Points of the atlas in mirrored pairs, spread evenly over a part of the template's skin, with their neighbours.
/// Point k is on the left for k below <see cref="PairCount"/>; its mirror image about x = 0 is point k + PairCount.
/// </summary>
internal sealed class MirroredPoints
{
    /// <summary>Points are no nearer to each other than this where the skin faces alike, interocular distances.</summary>
    private const double Spacing = 0.055;

    /// <summary>Cosine of the angle between the normals from which on two points lie on one sheet.</summary>
    private const double OneSheet = 0.3;

    /// <summary>Candidates lie at most this far apart.</summary>
    private const double CandidateStep = 0.025;

    private readonly (int Index, double DistanceSquared)[][] _neighbours;

    private MirroredPoints(List<Vector3d> points, List<Vector3d> normals, double reach)
    {
        PairCount = points.Count;
        Points = [.. points, .. points.Select(Mirror)];
        Normals = [.. normals, .. normals.Select(Mirror)];
        _neighbours = new (int, double)[Points.Count][];
        Parallel.For(0, Points.Count, i => _neighbours[i] = [.. Within(i, reach).OrderBy(n => n.DistanceSquared)]);
    }

    /// <summary>Number of pairs N.</summary>
    public int PairCount { get; }

    /// <summary>2N points, atlas.</summary>
    public IReadOnlyList<Vector3d> Points { get; }

    /// <summary>2N outward unit normals of the template there.</summary>
    public IReadOnlyList<Vector3d> Normals { get; }

    /// <summary>Spreads points by throwing darts (Cook 1986, "Stochastic sampling in computer graphics"), the darts in a fixed order.</summary>
    /// <param name="skin">The template's skin, atlas.</param>
    /// <param name="normals">Its vertices' normals.</param>
    /// <param name="isWanted">Which points of the left side are wanted.</param>
    /// <param name="reach">How far apart neighbours are at most, interocular distances.</param>
    public static MirroredPoints Spread(TriangleMesh skin, ReadOnlySpan<Vector3> normals, Func<Vector3d, bool> isWanted, double reach)
    {
        var points = new List<Vector3d>();
        var outward = new List<Vector3d>();
        var cells = new Dictionary<(int, int, int), List<int>>();
        for (int t = 0; t < skin.TriangleCount; t++)
        {
            (Vector3 a, Vector3 b, Vector3 c) = skin.Corners(t);
            ReadOnlySpan<int> corners = skin.Indices.Slice(3 * t, 3);
            float longest = Math.Max(Vector3.Distance(a, b), Math.Max(Vector3.Distance(b, c), Vector3.Distance(c, a)));
            int steps = Math.Max(1, (int)Math.Ceiling(longest / CandidateStep));
            for (int i = 0; i < steps * steps; i++)
            {
                double u = ((i % steps) + (1.0 / 3)) / steps, v = ((i / steps) + (1.0 / 3)) / steps, w = 1 - u - v;
                Vector3d point = ((Vector3d)a * u) + ((Vector3d)b * v) + ((Vector3d)c * w);
                Vector3d normal = (((Vector3d)normals[corners[0]] * u) + ((Vector3d)normals[corners[1]] * v) + ((Vector3d)normals[corners[2]] * w)).Normalized();
                if (w > 0 && point.X >= 0 && isWanted(point) && IsFree(point, normal))
                {
                    List<int> cell = cells.TryGetValue(Cell(point), out List<int>? known) ? known : cells[Cell(point)] = [];
                    cell.Add(points.Count);
                    points.Add(point);
                    outward.Add(normal);
                }
            }
        }

        return new MirroredPoints(points, outward, reach);

        bool IsFree(Vector3d point, Vector3d normal)
        {
            (int x, int y, int z) = Cell(point);
            for (int n = 0; n < 27; n++)
            {
                if (cells.TryGetValue((x + (n % 3) - 1, y + (n / 3 % 3) - 1, z + (n / 9) - 1), out List<int>? cell)
                    && cell.Exists(k => Vector3d.Distance(points[k], point) < Spacing && Vector3d.Dot(outward[k], normal) > OneSheet))
                {
                    return false;
                }
            }

            return true;
        }
    }

    /// <summary>The mirror image about x = 0.</summary>
    public static Vector3d Mirror(Vector3d v) => new(-v.X, v.Y, v.Z);

    /// <summary>Index of a point's mirror image.</summary>
    public int Twin(int i) => i < PairCount ? i + PairCount : i - PairCount;

    /// <summary>Points within reach on the same sheet, the nearest first, the point itself among them, with squared distances.</summary>
    public ReadOnlySpan<(int Index, double DistanceSquared)> Neighbours(int i) => _neighbours[i];

    private static (int X, int Y, int Z) Cell(Vector3d p) =>
        ((int)Math.Floor(p.X / Spacing), (int)Math.Floor(p.Y / Spacing), (int)Math.Floor(p.Z / Spacing));

    private IEnumerable<(int Index, double DistanceSquared)> Within(int i, double reach)
    {
        for (int j = 0; j < Points.Count; j++)
        {
            double squared = (Points[j] - Points[i]).LengthSquared;
            if (squared < reach * reach && Vector3d.Dot(Normals[j], Normals[i]) > 0)
            {
                yield return (j, squared);
            }
        }
    }
}
