using AutoPlace.Geometry;

namespace AutoPlace.Template;

/// <summary>
/// The plane about which a rig is its own mirror image. A head's midsagittal plane is found to within some hundredths, a
/// rig is symmetric to the last digit: its own plane keeps its midline and pairs exact.
/// </summary>
/// <param name="Normal">Unit normal towards the subject's left, head frame.</param>
/// <param name="Offset">Distance from the origin along the normal, interocular distances.</param>
internal sealed record RigPlane(Vector3d Normal, double Offset)
{
    /// <summary>Cosine of the largest angle (11 degrees) and largest distance between the rig's plane and the head's.</summary>
    private const double LeastAgreement = 0.98, MostOffset = 0.1;

    private const int TrimmingRounds = 10;

    /// <summary>Rounds of pairing by place, and the pairs that it takes.</summary>
    private const int PairingRounds = 3, FewestPairs = 3;

    /// <summary>A joint this near to the head's plane may belong to either side; one this near to another's image may be its twin; interocular distances (own choices).</summary>
    private const double NearMidline = 0.05, NearImage = 0.03;

    /// <summary>The head's own midsagittal plane.</summary>
    public static RigPlane OfHead { get; } = new(Vector3d.UnitX, 0);

    /// <summary>The plane with the most joints that have their mirror image, of equal ones the plane that these keep to most closely; the head's own if in doubt.</summary>
    /// <param name="names">Names of the joints.</param>
    /// <param name="positions">Their positions, head frame.</param>
    /// <param name="likely">Planes that modellers use: those of the file's axes.</param>
    public static RigPlane Find(IReadOnlyList<string> names, IReadOnlyList<Vector3d> positions, IReadOnlyList<RigPlane> likely)
    {
        RigPlane best = OfHead;
        (int most, double off) = Count(best);
        foreach (RigPlane plane in likely.Concat(ByNames(names, positions)).Concat(ByPlace(positions)))
        {
            if (plane.Normal.X >= LeastAgreement && Math.Abs(plane.Offset) <= MostOffset && Count(plane) is var (count, left) && (count > most || (count == most && left < off / 2)))
            {
                (best, most, off) = (plane, count, left);
            }
        }

        return best;

        (int Count, double Off) Count(RigPlane plane) => RigSides.Mirrored([.. positions.Select(plane.Along)]);
    }

    /// <summary>A position turned and moved so that the plane is x = 0; lengths stay.</summary>
    public Vector3d Along(Vector3d p)
    {
        // Turned by the smallest angle that takes the normal to the x axis (Rodrigues' formula).
        Vector3d axis = Vector3d.Cross(Normal, Vector3d.UnitX), once = Vector3d.Cross(axis, p);
        return p + once + (Vector3d.Cross(axis, once) / (1 + Normal.X)) - (Vector3d.UnitX * Offset);
    }

    /// <summary>The position that <see cref="Along"/> takes to a given one.</summary>
    public Vector3d Back(Vector3d along) => Turn.ToMatrix().Transposed() * (along + (Vector3d.UnitX * Offset));

    /// <summary>How that turns directions.</summary>
    public Rotation3d Turn => Rotation3d.FromMatrix(Matrix3d.FromColumns(Turned(Vector3d.UnitX), Turned(Vector3d.UnitY), Turned(Vector3d.UnitZ)));

    private Vector3d Turned(Vector3d direction) => Along(direction) - Along(Vector3d.Zero);

    /// <summary>The mirror image of a position.</summary>
    public Vector3d Image(Vector3d p) => p - (Normal * (2 * (Vector3d.Dot(p, Normal) - Offset)));

    private static RigPlane[] ByNames(IReadOnlyList<string> names, IReadOnlyList<Vector3d> positions)
    {
        var index = new Dictionary<string, int>(StringComparer.Ordinal);
        for (int i = 0; i < names.Count; i++)
        {
            index.TryAdd(names[i], i);
        }

        var pairs = new List<(Vector3d Left, Vector3d Right)>();
        for (int i = 0; i < names.Count; i++)
        {
            foreach (string mirrored in RigNames.Mirrored(names[i]))
            {
                if (index.TryGetValue(mirrored, out int other) && positions[i].X > positions[other].X)
                {
                    pairs.Add((positions[i], positions[other]));
                }
            }
        }

        return pairs.Count > 0 ? [Trimmed(pairs)] : [];
    }

    // Of joints that are nearly each other's mirror image about the head's own plane, and nobody else's.
    private static RigPlane[] ByPlace(IReadOnlyList<Vector3d> positions)
    {
        RigPlane plane = OfHead;
        for (int round = 0; round < PairingRounds; round++)
        {
            var pairs = new List<(Vector3d Left, Vector3d Right)>();
            foreach (Vector3d left in positions.Where(p => p.X > NearMidline))
            {
                Vector3d right = Nearest(plane.Image(left)), back = Nearest(plane.Image(right));
                if (right.X < -NearMidline && back == left && Vector3d.Distance(plane.Image(left), right) <= NearImage)
                {
                    pairs.Add((left, right));
                }
            }

            if (pairs.Count < FewestPairs)
            {
                return [];
            }

            plane = Trimmed(pairs);
        }

        return [plane];

        Vector3d Nearest(Vector3d image) => positions.MinBy(p => (p - image).LengthSquared);
    }

    // Fitted to the half of the pairs that keep to it best (least trimmed squares, Rousseeuw 1984): a rig on an asymmetric face
    // isn't symmetric all over. Then to the best quarter: of the half, some may be asymmetric by very little.
    private static RigPlane Trimmed(List<(Vector3d Left, Vector3d Right)> pairs)
    {
        RigPlane plane = Through(pairs);
        for (int round = 0; round < 2 * TrimmingRounds; round++)
        {
            int kept = round < TrimmingRounds ? (pairs.Count + 1) / 2 : (pairs.Count + 3) / 4;
            plane = Through([.. pairs.OrderBy(pair => Vector3d.Distance(plane.Image(pair.Left), pair.Right)).Take(kept)]);
        }

        return plane;
    }

    private static RigPlane Through(List<(Vector3d Left, Vector3d Right)> pairs)
    {
        Vector3d across = Vector3d.Zero, middle = Vector3d.Zero;
        foreach ((Vector3d left, Vector3d right) in pairs)
        {
            across += left - right;
            middle += (left + right) * (0.5 / pairs.Count);
        }

        Vector3d normal = across.Normalized();
        return new RigPlane(normal, Vector3d.Dot(middle, normal));
    }
}
