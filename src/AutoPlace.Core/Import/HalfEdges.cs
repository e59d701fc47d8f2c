namespace AutoPlace.Import;

/// <summary>
/// Which face borders on which. Half-edge c runs from corner c of a face to the next corner of the same face.
/// </summary>
internal static class HalfEdges
{
    /// <summary>Nothing on the other side.</summary>
    public const int Border = -1;

    /// <summary>More than two faces at this edge, or two that run through it in the same direction.</summary>
    public const int NonManifold = -2;

    private const int SmallBucket = 16;

    /// <summary>
    /// For each half-edge the one that runs the other way along the same edge, <see cref="Border"/> or
    /// <see cref="NonManifold"/>. Nearly linear in the number of corners.
    /// </summary>
    /// <param name="faceStarts">F + 1 offsets of the faces' corners.</param>
    /// <param name="corners">Vertices of the corners, in [0, <paramref name="vertexCount"/>).</param>
    /// <param name="vertexCount">Number of vertices.</param>
    public static int[] Opposites(ReadOnlySpan<int> faceStarts, ReadOnlySpan<int> corners, int vertexCount)
    {
        int[] ends = Ends(faceStarts, corners);

        // Counting sort of the half-edges by their smaller vertex, so that both sides of an edge meet in one bucket.
        int[] starts = new int[vertexCount + 1];
        for (int h = 0; h < corners.Length; h++)
        {
            starts[Math.Min(corners[h], ends[h]) + 1]++;
        }

        for (int v = 0; v < vertexCount; v++)
        {
            starts[v + 1] += starts[v];
        }

        int[] bucketEdges = new int[corners.Length];
        int[] bucketKeys = new int[corners.Length];
        int[] next = starts.AsSpan(0, vertexCount).ToArray();
        for (int h = 0; h < corners.Length; h++)
        {
            int slot = next[Math.Min(corners[h], ends[h])]++;
            bucketEdges[slot] = h;
            bucketKeys[slot] = Math.Max(corners[h], ends[h]);
        }

        int[] opposites = new int[corners.Length];
        for (int v = 0; v < vertexCount; v++)
        {
            int length = starts[v + 1] - starts[v];
            MatchBucket(bucketKeys.AsSpan(starts[v], length), bucketEdges.AsSpan(starts[v], length), corners, opposites);
        }

        return opposites;
    }

    private static int[] Ends(ReadOnlySpan<int> faceStarts, ReadOnlySpan<int> corners)
    {
        int[] ends = new int[corners.Length];
        for (int f = 0; f + 1 < faceStarts.Length; f++)
        {
            int first = faceStarts[f];
            int last = faceStarts[f + 1] - 1;
            for (int c = first; c < last; c++)
            {
                ends[c] = corners[c + 1];
            }

            ends[last] = corners[first];
        }

        return ends;
    }

    private static void MatchBucket(Span<int> keys, Span<int> edges, ReadOnlySpan<int> corners, Span<int> opposites)
    {
        if (keys.Length > SmallBucket)
        {
            keys.Sort(edges);
        }
        else
        {
            InsertionSort(keys, edges);
        }

        int i = 0;
        while (i < keys.Length)
        {
            int end = i + 1;
            while (end < keys.Length && keys[end] == keys[i])
            {
                end++;
            }

            bool pair = end - i == 2 && corners[edges[i]] != corners[edges[i + 1]];
            if (pair)
            {
                opposites[edges[i]] = edges[i + 1];
                opposites[edges[i + 1]] = edges[i];
            }
            else
            {
                for (int k = i; k < end; k++)
                {
                    opposites[edges[k]] = end - i == 1 ? Border : NonManifold;
                }
            }

            i = end;
        }
    }

    private static void InsertionSort(Span<int> keys, Span<int> edges)
    {
        for (int i = 1; i < keys.Length; i++)
        {
            int key = keys[i];
            int edge = edges[i];
            int j = i - 1;
            for (; j >= 0 && keys[j] > key; j--)
            {
                keys[j + 1] = keys[j];
                edges[j + 1] = edges[j];
            }

            keys[j + 1] = key;
            edges[j + 1] = edge;
        }
    }
}
