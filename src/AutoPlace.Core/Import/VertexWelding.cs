using System.Numerics;
using System.Runtime.CompilerServices;
using System.Runtime.InteropServices;

namespace AutoPlace.Import;

/// <summary>Finds vertices that lie at exactly the same place.</summary>
internal static class VertexWelding
{
    private const int FirstTableSize = 1 << 12;

    /// <summary>
    /// For each vertex the first vertex with the same position bit for bit (-0 counts as 0) and the same group. Linear
    /// in the number of vertices.
    /// </summary>
    /// <param name="positions">V positions.</param>
    /// <param name="groups">V group numbers, or empty when all vertices belong together.</param>
    /// <param name="first">V results; a vertex without an earlier twin refers to itself.</param>
    /// <returns>Number of vertices that refer to themselves.</returns>
    public static int FirstOfEach(ReadOnlySpan<Vector3> positions, ReadOnlySpan<int> groups, Span<int> first)
    {
        int[] table = new int[FirstTableSize];
        int unique = 0;
        for (int v = 0; v < positions.Length; v++)
        {
            if (2 * unique >= table.Length)
            {
                table = Enlarged(table, positions, groups);
            }

            Vector3 p = positions[v] + Vector3.Zero;
            int group = groups.IsEmpty ? 0 : groups[v];
            int mask = table.Length - 1;
            int slot = Hash(p, group) & mask;
            while (true)
            {
                int other = table[slot] - 1;
                if (other < 0)
                {
                    table[slot] = v + 1;
                    first[v] = v;
                    unique++;
                    break;
                }

                // Positions are finite, so == differs from comparing bits in the sign of zero alone.
                if (positions[other] == p && (groups.IsEmpty || groups[other] == group))
                {
                    first[v] = other;
                    break;
                }

                slot = (slot + 1) & mask;
            }
        }

        return unique;
    }

    private static int[] Enlarged(int[] table, ReadOnlySpan<Vector3> positions, ReadOnlySpan<int> groups)
    {
        int[] larger = new int[4 * table.Length];
        int mask = larger.Length - 1;
        foreach (int entry in table)
        {
            if (entry == 0)
            {
                continue;
            }

            int slot = Hash(positions[entry - 1] + Vector3.Zero, groups.IsEmpty ? 0 : groups[entry - 1]) & mask;
            while (larger[slot] != 0)
            {
                slot = (slot + 1) & mask;
            }

            larger[slot] = entry;
        }

        return larger;
    }

    /// <summary>Mixes the bits of a position and a group (multipliers and shifts of MurmurHash3's 64-bit finaliser).</summary>
    [MethodImpl(MethodImplOptions.AggressiveInlining)]
    private static int Hash(Vector3 p, int group)
    {
        ReadOnlySpan<uint> bits = MemoryMarshal.Cast<float, uint>(MemoryMarshal.CreateReadOnlySpan(ref p.X, 3));
        ulong h = bits[0] | ((ulong)bits[1] << 32);
        h = (h ^ (h >> 33)) * 0xff51afd7ed558ccdUL;
        h ^= bits[2] | ((ulong)(uint)group << 32);
        h = (h ^ (h >> 33)) * 0xc4ceb9fe1a85ec53UL;
        return (int)(h ^ (h >> 33));
    }
}
