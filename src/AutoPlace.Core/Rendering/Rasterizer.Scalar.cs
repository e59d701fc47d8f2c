using System.Runtime.CompilerServices;

namespace AutoPlace.Rendering;

// The reference: one pixel at a time, 64-bit integers, no short cuts. The wide twin gives the same bits.
public static partial class Rasterizer
{
    /// <summary>Draws triangles one pixel at a time.</summary>
    /// <param name="indices">3T vertex indices.</param>
    /// <param name="vertices">Projected vertices.</param>
    /// <param name="buffer">Receives what is seen.</param>
    internal static void DrawScalar(ReadOnlySpan<int> indices, ReadOnlySpan<RasterVertex> vertices, VisibilityBuffer buffer)
    {
        for (int t = 0; 3 * t < indices.Length; t++)
        {
            DrawScalar(t, vertices[indices[3 * t]], vertices[indices[(3 * t) + 1]], vertices[indices[(3 * t) + 2]], buffer);
        }
    }

    private static void DrawScalar(int triangle, RasterVertex a, RasterVertex b, RasterVertex c, VisibilityBuffer buffer)
    {
        long ax = a.X, ay = a.Y, bx = b.X, by = b.Y, cx = c.X, cy = c.Y;
        long signedArea = ((bx - ax) * (cy - ay)) - ((by - ay) * (cx - ax));
        if (signedArea == 0)
        {
            return;
        }

        // Edge functions are made positive inside whatever the winding.
        long sign = signedArea > 0 ? 1 : -1;
        long biasA = Bias((cx - bx) * sign, (cy - by) * sign);
        long biasB = Bias((ax - cx) * sign, (ay - cy) * sign);
        long biasC = Bias((bx - ax) * sign, (by - ay) * sign);
        float inverseArea = 1f / (signedArea * sign);
        const int sub = RasterVertex.SubPixels;
        int size = buffer.Size;
        long left = Math.Max(0, Math.Min(ax, Math.Min(bx, cx)) / sub), right = Math.Min(size - 1, Math.Max(ax, Math.Max(bx, cx)) / sub);
        long top = Math.Max(0, Math.Min(ay, Math.Min(by, cy)) / sub), bottom = Math.Min(size - 1, Math.Max(ay, Math.Max(by, cy)) / sub);
        for (long y = top; y <= bottom; y++)
        {
            for (long x = left; x <= right; x++)
            {
                long px = (x * sub) + (sub / 2), py = (y * sub) + (sub / 2);
                long wa = (((cx - bx) * (py - by)) - ((cy - by) * (px - bx))) * sign;
                long wb = (((ax - cx) * (py - cy)) - ((ay - cy) * (px - cx))) * sign;
                long wc = (((bx - ax) * (py - ay)) - ((by - ay) * (px - ax))) * sign;
                if (wa + biasA >= 0 && wb + biasB >= 0 && wc + biasC >= 0)
                {
                    float weightB = wb * inverseArea, weightC = wc * inverseArea;
                    float z = a.Z + (weightB * (b.Z - a.Z)) + (weightC * (c.Z - a.Z));
                    Offer((int)((y * size) + x), triangle, z, weightB, weightC, buffer);
                }
            }
        }
    }

    [MethodImpl(MethodImplOptions.AggressiveInlining)]
    private static void Offer(int pixel, int triangle, float z, float weightB, float weightC, VisibilityBuffer buffer)
    {
        float heldZ = buffer.Z[pixel], heldB = buffer.WeightB[pixel], heldC = buffer.WeightC[pixel];
        if (z > heldZ || (z == heldZ && (weightB > heldB || (weightB == heldB && weightC > heldC))))
        {
            buffer.Z[pixel] = z;
            buffer.Triangles[pixel] = triangle;
            buffer.WeightB[pixel] = weightB;
            buffer.WeightC[pixel] = weightC;
        }
    }

    // A pixel centre that lies on an edge belongs to the triangle whose top or left edge it is. With y down and the
    // inside at positive values, an edge going right is a top edge and one going up is a left edge.
    [MethodImpl(MethodImplOptions.AggressiveInlining)]
    private static int Bias(long dx, long dy) => dy < 0 || (dy == 0 && dx > 0) ? 0 : -1;
}
