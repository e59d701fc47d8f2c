using System.Numerics;
using System.Runtime.InteropServices;
using AutoPlace.Geometry;

namespace AutoPlace.Import;

/// <summary>
/// Finds faces that lie in exactly the same place as an earlier one: programs write every polygon twice, wound both ways,
/// where it should be seen from both sides.
/// </summary>
internal static class DoubledFaces
{
    /// <summary>For each face whether an earlier one of its group has corners in the same places, in any order. Linear in the number of corners.</summary>
    /// <param name="positions">V positions.</param>
    /// <param name="starts">F + 1 starts of faces among the corners.</param>
    /// <param name="corners">Vertices of the faces, F faces of three or more.</param>
    /// <param name="groups">F groups: only faces of one group are compared.</param>
    /// <param name="count">Number of faces that have an earlier one.</param>
    /// <returns>F answers; empty when there is none.</returns>
    public static bool[] Find(ReadOnlySpan<Vector3> positions, ReadOnlySpan<int> starts, ReadOnlySpan<int> corners, ReadOnlySpan<int> groups, out int count)
    {
        count = 0;
        int[] places = new int[positions.Length];
        VertexWelding.FirstOfEach(positions, [], places);
        int faces = starts.Length - 1;
        bool[] isDouble = new bool[faces];
        var firstOf = new Dictionary<ulong, int>(faces);
        int[] next = new int[faces]; // faces of the same key, the newest first; 0 is none
        for (int f = 0; f < faces; f++)
        {
            ReadOnlySpan<int> face = corners[starts[f]..starts[f + 1]];
            ulong key = BitMixing.Mixed(~(ulong)groups[f]);
            foreach (int v in face)
            {
                key += BitMixing.Mixed((ulong)places[v]);
            }

            ref int newest = ref CollectionsMarshal.GetValueRefOrAddDefault(firstOf, key, out _);
            for (int other = newest; other > 0 && !isDouble[f]; other = next[other - 1])
            {
                isDouble[f] = groups[other - 1] == groups[f] && SamePlaces(places, face, corners[starts[other - 1]..starts[other]]);
            }

            if (isDouble[f])
            {
                count++;
            }
            else
            {
                (next[f], newest) = (newest, f + 1);
            }
        }

        return count > 0 ? isDouble : [];
    }

    // Corners of a face are few and different from each other.
    private static bool SamePlaces(int[] places, ReadOnlySpan<int> a, ReadOnlySpan<int> b)
    {
        if (a.Length != b.Length)
        {
            return false;
        }

        return Sorted(places, a).AsSpan().SequenceEqual(Sorted(places, b));
    }

    private static int[] Sorted(int[] places, ReadOnlySpan<int> face)
    {
        int[] sorted = new int[face.Length];
        for (int i = 0; i < sorted.Length; i++)
        {
            sorted[i] = places[face[i]];
        }

        Array.Sort(sorted);
        return sorted;
    }
}
