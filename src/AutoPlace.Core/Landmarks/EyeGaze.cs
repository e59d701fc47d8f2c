using AutoPlace.Geometry;

namespace AutoPlace.Landmarks;

/// <summary>
/// Where an eyeball looks, where its mesh tells: by a cornea that rises from the sclera's sphere in one round cap, or by round
/// borders on the ball, as of an iris that is a piece or has a material of its own. What is seen of a ball between the lids, the
/// rim of half a ball and the layout of its vertices tell nothing.
/// </summary>
internal static class EyeGaze
{
    /// <summary>A piece of an eye reaches at most this far from the ball's centre, radii: a cornea on its sphere, a shell about both.</summary>
    private const double MostReach = 1.4;

    /// <summary>Height of a cornea over the sclera's sphere, radii: in life 0.09 (Gullstrand's schematic eye), on figures less or more.</summary>
    private const double LeastHeight = 0.025, MostHeight = 0.35;

    /// <summary>Where more than this share of its height is left a vertex counts as risen.</summary>
    private const double Risen = 0.3;

    /// <summary>... all that is lies within this angle of the axis, radians; a cornea's rim in life is 0.5 away, an elongated ball rises over half of itself.</summary>
    private const double MostRisenAngle = 0.7;

    /// <summary>Beyond so many times that angle the sclera is a sphere, to within this share of the cornea's height.</summary>
    private const double ScleraFrom = 1.6, ScleraRoughness = 0.1;

    /// <summary>Smaller over larger spread of a cap across its axis, at least.</summary>
    private const double LeastRoundness = 0.6;

    /// <summary>Angle of a round border from its axis, radians: an iris in life has 0.5, a highlight less, the rim of half a ball more.</summary>
    private const double LeastBorderAngle = 0.14, MostBorderAngle = 0.9;

    /// <summary>A border's vertices are this near to a circle, of its radius, and that as far from the ball's centre as the ball's surface, of that radius.</summary>
    private const double OffCircle = 0.12, OffBall = 0.3;

    /// <summary>Cosine of the largest angle between the middle of a circle on the ball and where its plane faces.</summary>
    private const double LeastFacing = 0.96;

    /// <summary>Around a cap the ball goes on, in each of so many sectors within this angle, radians.</summary>
    private const int Sectors = 6;

    private const double GoesOnWithin = 0.6;

    /// <summary>Cosine of the largest angle between what several signs say (10 degrees); signs that differ by more tell nothing.</summary>
    private const double LeastAgreement = 0.985;

    /// <summary>A ball's rear has a nerve or a hole.</summary>
    private const double LeastFrontward = 0.2;

    private const int FewestVertices = 30, FewestOnBorder = 6;

    /// <summary>Where an eyeball looks.</summary>
    /// <param name="ball">The ball, head frame.</param>
    /// <param name="pieces">Connected pieces of the scan that are no larger than an eye, without vertices that they don't use, head frame.</param>
    /// <returns>Unit vector in the head frame; null where the mesh doesn't tell.</returns>
    public static Vector3d? Of(Eyeball ball, IReadOnlyList<TriangleMesh> pieces)
    {
        ArgumentNullException.ThrowIfNull(ball);
        ArgumentNullException.ThrowIfNull(pieces);
        if (!ball.IsModelled || ball.IsPlate)
        {
            return null;
        }

        TriangleMesh[] near = [.. pieces.Where(piece => LiesIn(ball, piece))];
        Vector3d[] surface = [.. near.SelectMany(piece => piece.Positions.ToArray()).Select(p => (Vector3d)p - ball.Centre)
            .Where(arm => Math.Abs((arm.Length / ball.Radius) - 1) < OffBall).Select(arm => arm.Normalized())];
        Vector3d[] axes = [.. near.SelectMany(piece => RoundBorders(ball, piece, surface).Append(Cornea(piece))).OfType<Vector3d>().Where(axis => axis.Z > LeastFrontward)];
        Vector3d mean = axes.Aggregate(Vector3d.Zero, (sum, axis) => sum + axis);
        return axes.Length == 0 || axes.Any(axis => Vector3d.Dot(axis, mean.Normalized()) < LeastAgreement) ? null : mean.Normalized();
    }

    private static bool LiesIn(Eyeball ball, TriangleMesh piece)
    {
        foreach (Vector3d p in piece.Positions)
        {
            if (Vector3d.Distance(p, ball.Centre) > MostReach * ball.Radius)
            {
                return false;
            }
        }

        return true;
    }

    // The sphere is fitted by area, since a cornea often has most of the vertices.
    private static Vector3d? Cornea(TriangleMesh piece)
    {
        Vector3d[] points = [.. piece.Positions.ToArray().Select(p => (Vector3d)p)];
        double[] areas = Areas(piece);
        if (points.Length < FewestVertices || areas.Sum() == 0 || SphereFit.TryFit(points, new SphereFitOptions { Loss = RobustLoss.Tukey }, areas) is not { } sclera)
        {
            return null;
        }

        double[] heights = [.. points.Select(p => (Vector3d.Distance(p, sclera.Centre) / sclera.Radius) - 1)];
        double peak = heights.Max();
        if (!(peak is >= LeastHeight and <= MostHeight))
        {
            return null;
        }

        Vector3d[] directions = [.. points.Select(p => (p - sclera.Centre).Normalized())];
        int[] risen = [.. Enumerable.Range(0, points.Length).Where(v => heights[v] > Risen * peak)];
        Vector3d axis = risen.Aggregate(Vector3d.Zero, (sum, v) => sum + (directions[v] * (areas[v] * heights[v]))).Normalized();
        double[] angles = [.. directions.Select(d => Angle(axis, d))];
        double widest = risen.Max(v => angles[v]);
        int[] rest = [.. Enumerable.Range(0, points.Length).Where(v => angles[v] > ScleraFrom * widest)];
        double roughness = Math.Sqrt(rest.Sum(v => areas[v] * heights[v] * heights[v]) / rest.Sum(v => areas[v]));
        return widest <= MostRisenAngle && roughness <= ScleraRoughness * peak
            && IsRound(axis, risen.Select(v => (directions[v], areas[v] * heights[v])))
            && GoesOn(axis, ScleraFrom * widest, directions) ? axis : null;
    }

    private static IEnumerable<Vector3d?> RoundBorders(Eyeball ball, TriangleMesh piece, Vector3d[] surface)
    {
        foreach (VertexPath border in new MeshAdjacency(piece).Borders().Where(b => b.IsClosed && b.Vertices.Count >= FewestOnBorder))
        {
            Vector3d[] ring = [.. border.Vertices.Select(v => (Vector3d)piece.Positions[v])];
            if (Circle.Through(ring) is { } circle)
            {
                Vector3d arm = circle.Centre - ball.Centre, axis = arm.Normalized();
                Vector3d facing = circle.Normal * Math.Sign(Vector3d.Dot(circle.Normal, axis));
                double angle = Math.Atan2(circle.Radius, arm.Length), reach = Math.Sqrt(arm.LengthSquared + (circle.Radius * circle.Radius));
                if (angle is >= LeastBorderAngle and <= MostBorderAngle && Math.Abs((reach / ball.Radius) - 1) < OffBall
                    && Vector3d.Dot(facing, axis) >= LeastFacing && GoesOn(axis, angle, surface))
                {
                    yield return (axis + facing).Normalized();
                }
            }
        }
    }

    private static bool IsRound(Vector3d axis, IEnumerable<(Vector3d Direction, double Weight)> cap)
    {
        Matrix3d spread = cap.Aggregate(default(Matrix3d), (sum, v) =>
        {
            Vector3d across = v.Direction - (axis * Vector3d.Dot(axis, v.Direction));
            return sum + (Matrix3d.Outer(across, across) * v.Weight);
        });
        Vector3d values = SymmetricEigen3.Decompose(spread).Values;
        return values.Y >= LeastRoundness * values.X;
    }

    // Whether there is surface all round beyond an angle from the axis.
    private static bool GoesOn(Vector3d axis, double beyond, Vector3d[] surface)
    {
        const double Past = 0.03;
        (Vector3d first, Vector3d second) = axis.AxesAcross();
        var sectors = new HashSet<int>();
        foreach (Vector3d d in surface)
        {
            if (Angle(axis, d) is var angle && angle > beyond + Past && angle < beyond + GoesOnWithin)
            {
                double turn = Math.Atan2(Vector3d.Dot(d, second), Vector3d.Dot(d, first)) / Math.Tau;
                sectors.Add(Math.Min((int)((turn + 0.5) * Sectors), Sectors - 1));
            }
        }

        return sectors.Count == Sectors;
    }

    private static double Angle(Vector3d a, Vector3d b) => Math.Atan2(Vector3d.Cross(a, b).Length, Vector3d.Dot(a, b));

    // A third of the triangles at each vertex.
    private static double[] Areas(TriangleMesh piece)
    {
        double[] areas = new double[piece.VertexCount];
        for (int t = 0; t < piece.TriangleCount; t++)
        {
            (Vector3d a, Vector3d b, Vector3d c) = piece.Corners(t);
            double third = Vector3d.Cross(b - a, c - a).Length / 6;
            foreach (int v in piece.Indices.Slice(3 * t, 3))
            {
                areas[v] += third;
            }
        }

        return areas;
    }

    private sealed record Circle(Vector3d Centre, Vector3d Normal, double Radius)
    {
        /// <summary>The circle that a closed line nearly is, or null. Its parts count by length, however its vertices are spread.</summary>
        public static Circle? Through(Vector3d[] ring)
        {
            double length = 0;
            Vector3d sum = Vector3d.Zero, area = Vector3d.Zero;
            for (int i = 0; i < ring.Length; i++)
            {
                (Vector3d a, Vector3d b) = (ring[i], ring[(i + 1) % ring.Length]);
                length += Vector3d.Distance(a, b);
                sum += (a + b) * (Vector3d.Distance(a, b) / 2);
                area += Vector3d.Cross(a - ring[0], b - ring[0]);
            }

            if (!(length > 0) || area.Length == 0)
            {
                return null;
            }

            Vector3d centre = sum / length, normal = area.Normalized();
            double radius = ring.Average(p => Vector3d.Distance(p, centre));
            return ring.All(p => Math.Abs(Vector3d.Distance(p, centre) - radius) < OffCircle * radius && Math.Abs(Vector3d.Dot(p - centre, normal)) < OffCircle * radius)
                ? new Circle(centre, normal, radius)
                : null;
        }
    }
}
