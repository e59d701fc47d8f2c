using System.Numerics;

namespace AutoPlace.Geometry;

/// <summary>
/// Points along the curve that fills space octant by octant (Morton 1966; from memory), so that points that follow each
/// other are near each other as a rule.
/// </summary>
internal static class MortonOrder
{
    /// <summary>Bits of a code for each axis.</summary>
    private const int Bits = 21;

    private const int DigitBits = 8, DigitCount = 1 << DigitBits;

    /// <summary>Sorts points; of points with the same code those that come first stay first. O(N).</summary>
    /// <param name="points">N points, finite.</param>
    /// <param name="low">Lowest coordinates of all.</param>
    /// <param name="high">Highest coordinates of all.</param>
    /// <returns>The points' indices in order, and their codes, rising.</returns>
    public static (int[] Order, ulong[] Codes) Sort(ReadOnlySpan<Vector3> points, Vector3 low, Vector3 high)
    {
        Vector3 scale = new Vector3((1 << Bits) - 1) / Vector3.Max(high - low, new Vector3(float.Epsilon));
        scale = Vector3.Min(scale, new Vector3(float.MaxValue));
        int n = points.Length;
        var codes = new ulong[n];
        int[] order = new int[n];
        Span<int> counts = new int[8 * DigitCount];
        for (int i = 0; i < n; i++)
        {
            Vector3 cell = Vector3.Clamp((points[i] - low) * scale, Vector3.Zero, new Vector3((1 << Bits) - 1));
            ulong code = Spread((uint)cell.X) | (Spread((uint)cell.Y) << 1) | (Spread((uint)cell.Z) << 2);
            (codes[i], order[i]) = (code, i);
            for (int digit = 0; digit < 8; digit++)
            {
                counts[(digit * DigitCount) + Digit(code, digit)]++;
            }
        }

        // Radix sort from the lowest digit on; a digit that all share needs no pass.
        (ulong[] codesTo, int[] orderTo) = (new ulong[n], new int[n]);
        for (int digit = 0; digit < 8 && n > 0; digit++)
        {
            Span<int> next = counts.Slice(digit * DigitCount, DigitCount);
            if (next[Digit(codes[0], digit)] == n)
            {
                continue;
            }

            int total = 0;
            for (int d = 0; d < DigitCount; d++)
            {
                (next[d], total) = (total, total + next[d]);
            }

            for (int i = 0; i < n; i++)
            {
                int to = next[Digit(codes[i], digit)]++;
                (codesTo[to], orderTo[to]) = (codes[i], order[i]);
            }

            (codes, codesTo, order, orderTo) = (codesTo, codes, orderTo, order);
        }

        return (order, codes);
    }

    private static int Digit(ulong code, int digit) => (int)(code >> (digit * DigitBits)) & (DigitCount - 1);

    // Two zeros after each bit.
    private static ulong Spread(ulong x)
    {
        x = (x | (x << 32)) & 0x001F00000000FFFF;
        x = (x | (x << 16)) & 0x001F0000FF0000FF;
        x = (x | (x << 8)) & 0x100F00F00F00F00F;
        x = (x | (x << 4)) & 0x10C30C30C30C30C3;
        return (x | (x << 2)) & 0x1249249249249249;
    }
}
