using System.Diagnostics;
using System.Runtime.CompilerServices;
using System.Runtime.InteropServices;
using System.Runtime.Intrinsics;

namespace AutoPlace.Rendering;

// Eight pixels of a row at once. An edge function is affine, so lane i holds its value at the first pixel plus i steps;
// the sign bits of the three functions, or-ed, tell which lanes are outside. Lanes outside the triangle's bounding box
// need no mask of their own: there an edge function is negative. A vector that would run over the row's end starts
// earlier; pixels that are met twice keep their values, since a triangle never beats itself.
//
// Values fit 32 bits when the triangle is at most MaxExtent sub-pixels wide and high: with corners and pixels at most
// MaxExtent + (LaneCount + 1) * 256 apart, |edge function| <= 2 * MaxExtent * that < 2^31. Wider ones use 64 bits.
//
// Everything is inlined into one method that is optimised at its first call: a program that places a single head draws
// it cold, and six views took 130 ms with the runtime's usual steps, 50 ms so.
public static partial class Rasterizer
{
    /// <summary>Pixels that the wide path treats at once.</summary>
    internal const int LaneCount = 8;

    // Up to this many pixels across, single pixels are faster than vectors, whose overlapping loads and stores wait for
    // each other on neighbouring triangles.
    private const int NarrowBox = 2;

    private const int MaxExtent = 112 * RasterVertex.SubPixels;

    /// <summary>The wide twin of <see cref="DrawScalar(ReadOnlySpan{int}, ReadOnlySpan{RasterVertex}, VisibilityBuffer)"/>.</summary>
    /// <param name="indices">3T vertex indices.</param>
    /// <param name="vertices">Projected vertices.</param>
    /// <param name="buffer">Receives what is seen; at least <see cref="LaneCount"/> pixels a side.</param>
    [MethodImpl(MethodImplOptions.AggressiveOptimization)]
    internal static void DrawWide(ReadOnlySpan<int> indices, ReadOnlySpan<RasterVertex> vertices, VisibilityBuffer buffer)
    {
        Debug.Assert(buffer.Size >= LaneCount, "a row holds a vector");
        const int half = RasterVertex.SubPixels / 2;
        ReadOnlySpan<Vector128<int>> lanes = MemoryMarshal.Cast<RasterVertex, Vector128<int>>(vertices);
        var zero = Vector128<int>.Zero;
        Vector128<int> last = Vector128.Create(buffer.Size - 1);
        for (int t = 0; 3 * t < indices.Length; t++)
        {
            Vector128<int> a = lanes[indices[3 * t]], b = lanes[indices[(3 * t) + 1]], c = lanes[indices[(3 * t) + 2]];

            // First and last pixel whose centre lies within the bounding box, in x and y; on a dense mesh about half
            // of the triangles meet no centre and end here.
            Vector128<int> min = Vector128.Min(Vector128.Min(a, b), c), max = Vector128.Max(Vector128.Max(a, b), c);
            Vector128<int> first = Vector128.Max((min + Vector128.Create(half - 1)) >> 8, zero);
            Vector128<int> final = Vector128.Min((max - Vector128.Create(half)) >> 8, last);
            if ((Vector128.GreaterThan(first, final).ExtractMostSignificantBits() & 0b11) != 0)
            {
                continue;
            }

            Vector128<int> extent = max - min;
            var box = new PixelBox(first[0], first[1], final[0], final[1]);
            if (extent[0] <= MaxExtent && extent[1] <= MaxExtent)
            {
                DrawSmall(t, a, b, c, box, buffer);
            }
            else
            {
                DrawLarge(t, a, b, c, box, buffer);
            }
        }
    }

    [MethodImpl(MethodImplOptions.AggressiveInlining)]
    private static void DrawSmall(
        int triangle, Vector128<int> a, Vector128<int> b, Vector128<int> c, PixelBox box, VisibilityBuffer buffer)
    {
        const int sub = RasterVertex.SubPixels;
        int bx = b[0] - a[0], by = b[1] - a[1], cx = c[0] - a[0], cy = c[1] - a[1];
        int area = (bx * cy) - (by * cx);
        if (area == 0)
        {
            return;
        }

        if (area < 0)
        {
            (area, bx, by, cx, cy) = (-area, -bx, -by, -cx, -cy);
        }

        // After the flip (bx, by) is edge AB, (-cx, -cy) edge CA and (cx - bx, cy - by) edge BC, all times the sign.
        int biasA = Bias(cx - bx, cy - by), biasB = Bias(-cx, -cy), biasC = Bias(bx, by);
        int px = (box.Left * sub) + (sub / 2) - a[0], py = (box.Top * sub) + (sub / 2) - a[1];
        var edges = new SmallEdges(
            area + biasA, biasB, biasC, (cy * px) - (cx * py), (bx * py) - (by * px), cy * sub, -by * sub, -cx * sub, bx * sub);
        var plane = new DepthPlane(triangle, 1f / area, a.AsSingle()[2], b.AsSingle()[2], c.AsSingle()[2]);
        if (box.Right - box.Left < NarrowBox)
        {
            DrawNarrow(edges, plane, box, buffer);
        }
        else
        {
            DrawRows(edges, plane, box, buffer);
        }
    }

    [MethodImpl(MethodImplOptions.AggressiveInlining)]
    private static void DrawNarrow(in SmallEdges edges, in DepthPlane plane, PixelBox box, VisibilityBuffer buffer)
    {
        int rowB = edges.B, rowC = edges.C;
        for (int y = box.Top; y <= box.Bottom; y++)
        {
            int wb = rowB, wc = rowC;
            for (int x = box.Left; x <= box.Right; x++)
            {
                if (((edges.Total - wb - wc) | (wb + edges.BiasB) | (wc + edges.BiasC)) >= 0)
                {
                    float weightB = wb * plane.InverseArea, weightC = wc * plane.InverseArea;
                    float z = plane.Z + (weightB * plane.ZPerB) + (weightC * plane.ZPerC);
                    Offer((y * buffer.Size) + x, plane.Triangle, z, weightB, weightC, buffer);
                }

                wb += edges.BPerX;
                wc += edges.CPerX;
            }

            rowB += edges.BPerY;
            rowC += edges.CPerY;
        }
    }

    [MethodImpl(MethodImplOptions.AggressiveInlining)]
    private static void DrawRows(in SmallEdges edges, in DepthPlane plane, PixelBox box, VisibilityBuffer buffer)
    {
        int start = Math.Min(box.Left, buffer.Size - LaneCount), shift = start - box.Left;
        int rowB = edges.B + (edges.BPerX * shift), rowC = edges.C + (edges.CPerX * shift);
        Vector256<int> rampB = Vector256<int>.Indices * edges.BPerX, rampC = Vector256<int>.Indices * edges.CPerX;
        Vector256<int> total = Vector256.Create(edges.Total), biasB = Vector256.Create(edges.BiasB), biasC = Vector256.Create(edges.BiasC);
        for (int y = box.Top; y <= box.Bottom; y++)
        {
            int x = start, atB = rowB, atC = rowC;
            while (true)
            {
                Vector256<int> wb = Vector256.Create(atB) + rampB, wc = Vector256.Create(atC) + rampC;
                Vector256<int> outside = (total - wb - wc) | (wb + biasB) | (wc + biasC);
                if (outside.ExtractMostSignificantBits() != 0xFF)
                {
                    Offer((y * buffer.Size) + x, ~(outside >> 31), Vector256.ConvertToSingle(wb), Vector256.ConvertToSingle(wc), plane, buffer);
                }

                if (x + LaneCount > box.Right)
                {
                    break;
                }

                int next = Math.Min(x + LaneCount, buffer.Size - LaneCount);
                atB += edges.BPerX * (next - x);
                atC += edges.CPerX * (next - x);
                x = next;
            }

            rowB += edges.BPerY;
            rowC += edges.CPerY;
        }
    }

    // The same with 64-bit edge functions, four lanes to a vector.
    [MethodImpl(MethodImplOptions.AggressiveOptimization)]
    private static void DrawLarge(
        int triangle, Vector128<int> a, Vector128<int> b, Vector128<int> c, PixelBox box, VisibilityBuffer buffer)
    {
        const int sub = RasterVertex.SubPixels;
        long bx = b[0] - a[0], by = b[1] - a[1], cx = c[0] - a[0], cy = c[1] - a[1];
        long area = (bx * cy) - (by * cx);
        if (area == 0)
        {
            return;
        }

        if (area < 0)
        {
            (area, bx, by, cx, cy) = (-area, -bx, -by, -cx, -cy);
        }

        int biasA = Bias(cx - bx, cy - by), biasB = Bias(-cx, -cy), biasC = Bias(bx, by);
        Vector256<long> ramp = Vector256<long>.Indices;
        Vector256<long> rampB = ramp * (cy * sub), rampC = ramp * (-by * sub);
        Vector256<long> fourB = Vector256.Create(cy * sub * 4), fourC = Vector256.Create(-by * sub * 4);
        var plane = new DepthPlane(triangle, 1f / area, a.AsSingle()[2], b.AsSingle()[2], c.AsSingle()[2]);
        for (int y = box.Top; y <= box.Bottom; y++)
        {
            long py = ((long)y * sub) + (sub / 2) - a[1];
            for (int next = box.Left; next <= box.Right; next += LaneCount)
            {
                int x = Math.Min(next, buffer.Size - LaneCount);
                long px = ((long)x * sub) + (sub / 2) - a[0];
                Vector256<long> lowB = Vector256.Create((cy * px) - (cx * py)) + rampB, highB = lowB + fourB;
                Vector256<long> lowC = Vector256.Create((bx * py) - (by * px)) + rampC, highC = lowC + fourC;
                Vector256<long> low = Outside(area + biasA, lowB, lowC, biasB, biasC);
                Vector256<long> high = Outside(area + biasA, highB, highC, biasB, biasC);
                if ((low & high).ExtractMostSignificantBits() != 0xF)
                {
                    Offer((y * buffer.Size) + x, ~Vector256.Narrow(low, high), ToSingle(lowB, highB), ToSingle(lowC, highC), plane, buffer);
                }
            }
        }
    }

    // All bits set in the lanes outside the triangle.
    private static Vector256<long> Outside(long total, Vector256<long> wb, Vector256<long> wc, long biasB, long biasC) =>
        ((Vector256.Create(total) - wb - wc) | (wb + Vector256.Create(biasB)) | (wc + Vector256.Create(biasC))) >> 63;

    // A covered pixel's values are below 2^53 on any image this buffer can hold: a double takes them exactly, so there
    // is one rounding, as from a 64-bit integer straight to single precision. Other lanes don't matter.
    private static Vector256<float> ToSingle(Vector256<long> low, Vector256<long> high) =>
        Vector256.Narrow(Vector256.ConvertToDouble(low), Vector256.ConvertToDouble(high));

    [MethodImpl(MethodImplOptions.AggressiveInlining)]
    private static void Offer(
        int pixel, Vector256<int> covered, Vector256<float> wb, Vector256<float> wc, in DepthPlane plane, VisibilityBuffer buffer)
    {
        ref float heldZ = ref buffer.Z[pixel], heldB = ref buffer.WeightB[pixel], heldC = ref buffer.WeightC[pixel];
        ref int heldTriangle = ref buffer.Triangles[pixel];
        Vector256<float> weightB = wb * plane.InverseArea, weightC = wc * plane.InverseArea;
        Vector256<float> z = Vector256.Create(plane.Z) + (weightB * plane.ZPerB) + (weightC * plane.ZPerC);
        Vector256<float> oldZ = Vector256.LoadUnsafe(ref heldZ), oldB = Vector256.LoadUnsafe(ref heldB), oldC = Vector256.LoadUnsafe(ref heldC);
        Vector256<float> wins = Vector256.GreaterThan(z, oldZ);
        Vector256<float> tie = Vector256.Equals(z, oldZ);
        Vector256<float> winsTie = Vector256.GreaterThan(weightB, oldB)
            | (Vector256.Equals(weightB, oldB) & Vector256.GreaterThan(weightC, oldC));
        wins = (wins | (tie & winsTie)) & covered.AsSingle();
        Vector256.ConditionalSelect(wins, z, oldZ).StoreUnsafe(ref heldZ);
        Vector256.ConditionalSelect(wins, weightB, oldB).StoreUnsafe(ref heldB);
        Vector256.ConditionalSelect(wins, weightC, oldC).StoreUnsafe(ref heldC);
        Vector256.ConditionalSelect(wins.AsInt32(), Vector256.Create(plane.Triangle), Vector256.LoadUnsafe(ref heldTriangle))
            .StoreUnsafe(ref heldTriangle);
    }

    // Edge functions opposite to B and C at the upper left pixel of the box, their steps, and the fill rule's biases; the
    // one opposite to A is what is missing to the area.
    private readonly record struct SmallEdges(
        int Total, int BiasB, int BiasC, int B, int C, int BPerX, int CPerX, int BPerY, int CPerY);

    // Pixels whose centres lie in a triangle's bounding box, all inclusive.
    private readonly record struct PixelBox(int Left, int Top, int Right, int Bottom);

    // What a triangle's pixels share: z = Z + weightB * ZPerB + weightC * ZPerC.
    private readonly struct DepthPlane(int triangle, float inverseArea, float za, float zb, float zc)
    {
        public readonly int Triangle = triangle;
        public readonly float InverseArea = inverseArea;
        public readonly float Z = za;
        public readonly float ZPerB = zb - za;
        public readonly float ZPerC = zc - za;
    }
}
