using System.Numerics;

namespace AutoPlace.Import;

/// <summary>
/// Finds which triangles were quads before a file format cut them. Exporters write the two halves of a quad one after
/// the other, mostly both beginning at the same corner, so consecutive triangles are paired first: along each run of
/// consecutive triangles that share an edge, the pairing with the largest sum of scores, by dynamic programming, where
/// the ways of sharing an edge that are common in this mesh score more. What is left is paired across the best edges
/// first. Only triangles of one part are paired, only where they share exactly one edge, run round it in the same
/// sense and make a convex quad that isn't folded (<see cref="QuadShape"/>).
/// </summary>
internal static class TrianglePairing
{
    /// <summary>No partner.</summary>
    public const int Alone = -1;

    /// <summary>Added to every pair's score, so that two fair pairs beat one good one.</summary>
    private const float PairBonus = 0.5f;

    /// <summary>
    /// Least score of a pair that the order of the triangles doesn't speak for: a flat parallelogram of 40 degrees has
    /// 0.62, a square folded by 37 degrees 0.9.
    /// </summary>
    private const float LeastUnorderedScore = 0.62f;

    /// <summary>
    /// Share of triangles in pairs of the two commonest ways of sharing an edge from which the order of the triangles
    /// is taken as proof of cut quads. A cut quad mesh has about 1; in triangulations of other origin the nine ways
    /// are mixed.
    /// </summary>
    private const double ProofShare = 0.8;

    private const int Patterns = 9;
    private const int ScoreLevels = 1 << 12;

    /// <summary>The partner of each triangle, or <see cref="Alone"/>.</summary>
    /// <param name="positions">V positions.</param>
    /// <param name="triangles">3T vertices.</param>
    /// <param name="parts">T part numbers.</param>
    /// <param name="onlyIfProven">
    /// Pair nothing unless at least <see cref="ProofShare"/> of the triangles are explained by consecutive pairs, and
    /// then only those: for formats that could have written quads and didn't.
    /// </param>
    public static int[] Pair(
        ReadOnlySpan<Vector3> positions, ReadOnlySpan<int> triangles, ReadOnlySpan<int> parts, bool onlyIfProven)
    {
        int count = parts.Length;
        float[] scores = new float[count];
        byte[] patterns = new byte[count];
        for (int t = 0; t + 1 < count; t++)
        {
            scores[t] = parts[t] == parts[t + 1] ? Score(positions, triangles, t, t + 1, out patterns[t]) : 0;
        }

        Span<float> shares = stackalloc float[Patterns];
        shares.Clear();
        int[] partners = PairConsecutive(scores, patterns, shares);
        CountPatterns(partners, patterns, shares);
        partners = PairConsecutive(scores, patterns, shares);
        CountPatterns(partners, patterns, shares);
        if (!onlyIfProven)
        {
            PairRest(positions, triangles, parts, partners);
        }
        else if (TwoLargest(shares) < ProofShare)
        {
            Array.Fill(partners, Alone);
        }

        return partners;
    }

    /// <summary>
    /// Vertices of the quad that two partners make, in the sense of the first triangle and from its first corner.
    /// </summary>
    /// <param name="triangles">3T vertices.</param>
    /// <param name="first">Triangle whose first corner begins.</param>
    /// <param name="second">Its partner.</param>
    /// <param name="quad">Four vertices.</param>
    public static void Quad(ReadOnlySpan<int> triangles, int first, int second, Span<int> quad)
    {
        SharedEdge(triangles, first, second, out int edge, out int otherEdge);
        int added = triangles[(3 * second) + ((otherEdge + 2) % 3)];
        int next = 0;
        for (int corner = 0; corner < 3; corner++)
        {
            quad[next++] = triangles[(3 * first) + corner];
            if (corner == edge)
            {
                quad[next++] = added;
            }
        }
    }

    private static float Score(
        ReadOnlySpan<Vector3> positions, ReadOnlySpan<int> triangles, int first, int second, out byte pattern)
    {
        pattern = 0;
        if (!SharedEdge(triangles, first, second, out int edge, out int otherEdge))
        {
            return 0;
        }

        pattern = (byte)((3 * edge) + otherEdge);
        return ScoreAcross(positions, triangles, (3 * first) + edge, (3 * second) + otherEdge);
    }

    private static float ScoreAcross(ReadOnlySpan<Vector3> positions, ReadOnlySpan<int> triangles, int edge, int otherEdge)
    {
        int a = triangles[edge];
        int b = triangles[Opposite(otherEdge)];
        int c = triangles[otherEdge];
        int d = triangles[Opposite(edge)];
        return b == d ? 0 : QuadShape.Score(positions[a], positions[b], positions[c], positions[d]);
    }

    /// <summary>Corner of the same triangle that isn't on the edge.</summary>
    private static int Opposite(int edge) => edge % 3 == 0 ? edge + 2 : edge - 1;

    /// <summary>The one edge that both triangles have, run through in opposite directions.</summary>
    private static bool SharedEdge(ReadOnlySpan<int> triangles, int first, int second, out int edge, out int otherEdge)
    {
        ReadOnlySpan<int> t = triangles.Slice(3 * first, 3);
        ReadOnlySpan<int> u = triangles.Slice(3 * second, 3);
        for (edge = 0; edge < 3; edge++)
        {
            int from = t[edge];
            int to = t[edge == 2 ? 0 : edge + 1];
            for (otherEdge = 0; otherEdge < 3; otherEdge++)
            {
                if (u[otherEdge] == to && u[otherEdge == 2 ? 0 : otherEdge + 1] == from)
                {
                    return true;
                }
            }
        }

        otherEdge = 0;
        return false;
    }

    private static int[] PairConsecutive(ReadOnlySpan<float> scores, ReadOnlySpan<byte> patterns, ReadOnlySpan<float> shares)
    {
        // best[t] is the largest sum over the first t triangles.
        int count = scores.Length;
        float[] gains = new float[count + 1];
        float previous = 0;
        float best = 0;
        for (int t = 1; t < count; t++)
        {
            float score = scores[t - 1];
            float with = score > 0 ? previous + score + PairBonus + shares[patterns[t - 1]] : float.NegativeInfinity;
            gains[t + 1] = with - best;
            previous = best;
            best = MathF.Max(best, with);
            if (score == 0)
            {
                // A run ends here: sums start again at zero, so that single precision is enough for any length.
                previous = 0;
                best = 0;
                gains[t + 1] = float.NegativeInfinity;
            }
        }

        int[] partners = new int[count];
        Array.Fill(partners, Alone);
        for (int end = count; end >= 2;)
        {
            if (gains[end] > 0)
            {
                partners[end - 1] = end - 2;
                partners[end - 2] = end - 1;
                end -= 2;
            }
            else
            {
                end--;
            }
        }

        return partners;
    }

    private static void CountPatterns(ReadOnlySpan<int> partners, ReadOnlySpan<byte> patterns, Span<float> shares)
    {
        Span<int> counts = stackalloc int[Patterns];
        counts.Clear();
        for (int t = 0; t < partners.Length; t++)
        {
            if (partners[t] == t + 1)
            {
                counts[patterns[t]]++;
            }
        }

        for (int p = 0; p < Patterns; p++)
        {
            shares[p] = 2f * counts[p] / Math.Max(1, partners.Length);
        }
    }

    private static double TwoLargest(ReadOnlySpan<float> shares)
    {
        float first = 0;
        float second = 0;
        foreach (float share in shares)
        {
            second = MathF.Max(second, MathF.Min(first, share));
            first = MathF.Max(first, share);
        }

        return (double)first + second;
    }

    /// <summary>Greedy matching of the triangles without a partner, best score first, ties by index.</summary>
    private static void PairRest(
        ReadOnlySpan<Vector3> positions, ReadOnlySpan<int> triangles, ReadOnlySpan<int> parts, int[] partners)
    {
        int[] alone = TrianglesAlone(partners);
        int[] corners = new int[3 * alone.Length];
        int[] starts = new int[alone.Length + 1];
        for (int i = 0; i < alone.Length; i++)
        {
            triangles.Slice(3 * alone[i], 3).CopyTo(corners.AsSpan(3 * i));
            starts[i + 1] = 3 * (i + 1);
        }

        int[] opposites = HalfEdges.Opposites(starts, corners, positions.Length);
        var candidates = new List<int>();
        var levels = new List<int>();
        for (int h = 0; h < opposites.Length; h++)
        {
            int other = opposites[h];
            if (other <= h || parts[alone[h / 3]] != parts[alone[other / 3]])
            {
                continue;
            }

            float score = ScoreAcross(positions, corners, h, other);
            if (score >= LeastUnorderedScore)
            {
                candidates.Add(h);
                levels.Add((int)((1 - score) * ScoreLevels));
            }
        }

        foreach (int i in StableOrder(levels))
        {
            int first = alone[candidates[i] / 3];
            int second = alone[opposites[candidates[i]] / 3];
            if (partners[first] == Alone && partners[second] == Alone)
            {
                partners[first] = second;
                partners[second] = first;
            }
        }
    }

    private static int[] TrianglesAlone(ReadOnlySpan<int> partners)
    {
        var alone = new List<int>();
        for (int t = 0; t < partners.Length; t++)
        {
            if (partners[t] == Alone)
            {
                alone.Add(t);
            }
        }

        return [.. alone];
    }

    /// <summary>Counting sort by level.</summary>
    private static int[] StableOrder(List<int> levels)
    {
        int[] starts = new int[ScoreLevels + 2];
        foreach (int level in levels)
        {
            starts[level + 1]++;
        }

        for (int level = 0; level <= ScoreLevels; level++)
        {
            starts[level + 1] += starts[level];
        }

        int[] order = new int[levels.Count];
        for (int i = 0; i < order.Length; i++)
        {
            order[starts[levels[i]]++] = i;
        }

        return order;
    }
}
