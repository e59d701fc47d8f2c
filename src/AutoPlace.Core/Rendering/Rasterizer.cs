using System.Numerics;
using AutoPlace.Geometry;

namespace AutoPlace.Rendering;

/// <summary>Deterministic software rasteriser for orthographic views (edge functions after Pineda 1988).</summary>
public static class Rasterizer
{
    /// <summary>Sub-pixel positions a pixel's side; vertices are snapped to them, so coverage is exact integer arithmetic.</summary>
    internal const int SubPixels = 256;

    /// <summary>
    /// Draws all triangles, front and back faces alike, on top of what the buffer holds; the nearest wins, at equal
    /// depth the one drawn first. Two triangles that share an edge cover each pixel of it exactly once.
    /// </summary>
    /// <param name="mesh">The mesh, in the view's frame.</param>
    /// <param name="view">The view; its size must be the buffer's.</param>
    /// <param name="buffer">Receives what is seen; not cleared first.</param>
    /// <exception cref="ArgumentException">View and buffer differ in size.</exception>
    public static void Rasterize(TriangleMesh mesh, in OrthographicView view, VisibilityBuffer buffer)
    {
        ArgumentNullException.ThrowIfNull(mesh);
        ArgumentNullException.ThrowIfNull(buffer);
        if (view.Size != buffer.Size)
        {
            throw new ArgumentException($"The view has {view.Size} pixels a side, the buffer {buffer.Size}.", nameof(buffer));
        }

        ReadOnlySpan<int> indices = mesh.Indices;
        ReadOnlySpan<Vector3> positions = mesh.Positions;
        var projected = new Vector3[positions.Length];
        for (int v = 0; v < positions.Length; v++)
        {
            projected[v] = view.Project(positions[v]);
        }

        for (int t = 0; 3 * t < indices.Length; t++)
        {
            DrawScalar(t, projected[indices[3 * t]], projected[indices[(3 * t) + 1]], projected[indices[(3 * t) + 2]], buffer);
        }
    }

    /// <summary>Draws one triangle given in pixels and view depth.</summary>
    internal static void DrawScalar(int triangle, Vector3 a, Vector3 b, Vector3 c, VisibilityBuffer buffer)
    {
        (long ax, long ay) = Snap(a);
        (long bx, long by) = Snap(b);
        (long cx, long cy) = Snap(c);
        long area = ((bx - ax) * (cy - ay)) - ((by - ay) * (cx - ax));
        if (area == 0)
        {
            return;
        }

        // Edge functions are made positive inside whatever the winding.
        long sign = area > 0 ? 1 : -1;
        int size = buffer.Size;
        int left = (int)Math.Max(0, Math.Min(ax, Math.Min(bx, cx)) / SubPixels);
        int right = (int)Math.Min(size - 1, Math.Max(ax, Math.Max(bx, cx)) / SubPixels);
        int top = (int)Math.Max(0, Math.Min(ay, Math.Min(by, cy)) / SubPixels);
        int bottom = (int)Math.Min(size - 1, Math.Max(ay, Math.Max(by, cy)) / SubPixels);
        long biasA = IsTopLeft((cx - bx) * sign, (cy - by) * sign) ? 0 : -1;
        long biasB = IsTopLeft((ax - cx) * sign, (ay - cy) * sign) ? 0 : -1;
        long biasC = IsTopLeft((bx - ax) * sign, (by - ay) * sign) ? 0 : -1;
        double inverseArea = 1.0 / (area * sign);
        for (int y = top; y <= bottom; y++)
        {
            long py = (y * SubPixels) + (SubPixels / 2);
            for (int x = left; x <= right; x++)
            {
                long px = (x * SubPixels) + (SubPixels / 2);
                long wa = (((cx - bx) * (py - by)) - ((cy - by) * (px - bx))) * sign;
                long wb = (((ax - cx) * (py - cy)) - ((ay - cy) * (px - cx))) * sign;
                long wc = (((bx - ax) * (py - ay)) - ((by - ay) * (px - ax))) * sign;
                if (wa + biasA < 0 || wb + biasB < 0 || wc + biasC < 0)
                {
                    continue;
                }

                float weightB = (float)(wb * inverseArea), weightC = (float)(wc * inverseArea);
                float z = a.Z + (weightB * (b.Z - a.Z)) + (weightC * (c.Z - a.Z));
                int pixel = (y * size) + x;
                if (z > buffer.Z[pixel])
                {
                    buffer.Z[pixel] = z;
                    buffer.Triangles[pixel] = triangle;
                    buffer.WeightB[pixel] = weightB;
                    buffer.WeightC[pixel] = weightC;
                }
            }
        }
    }

    // Snapped coordinates stay within +-2^22 pixels, so products of differences fit 64 bits.
    private static (long X, long Y) Snap(Vector3 p) =>
        ((long)MathF.Round(Math.Clamp(p.X, -4194304f, 4194304f) * SubPixels),
         (long)MathF.Round(Math.Clamp(p.Y, -4194304f, 4194304f) * SubPixels));

    // With y down and a positive area, an edge going right is a top edge and one going up is a left edge.
    private static bool IsTopLeft(long dx, long dy) => dy < 0 || (dy == 0 && dx > 0);
}
