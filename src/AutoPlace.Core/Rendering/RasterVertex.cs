using System.Diagnostics;
using System.Numerics;
using System.Runtime.CompilerServices;
using System.Runtime.InteropServices;
using System.Runtime.Intrinsics;

namespace AutoPlace.Rendering;

/// <summary>
/// A vertex as the rasteriser sees it: image position snapped to a grid of 1/256 pixel (x right, y down) and view
/// depth. Sixteen bytes, so that a vertex is one vector load.
/// </summary>
[StructLayout(LayoutKind.Sequential, Size = 16)]
internal struct RasterVertex
{
    /// <summary>Sub-pixel positions a pixel's side.</summary>
    internal const int SubPixels = 256;

    // Snapped coordinates stay within +-2^21 pixels of the image's centre: differences of two fit 31 bits, sums of two
    // products of differences 62. What lies further out is moved to the limit.
    private const float Limit = (1 << 21) * SubPixels;

    internal int X;
    internal int Y;
    internal float Z;

    /// <summary>
    /// Projects and snaps vertices. Snapping is symmetric about the image's centre, so that a mirrored mesh lands on
    /// mirrored positions to the last bit.
    /// </summary>
    /// <param name="positions">V positions in the view's frame.</param>
    /// <param name="view">The view.</param>
    /// <param name="vertices">Receives V vertices.</param>
    [MethodImpl(MethodImplOptions.AggressiveOptimization)]
    internal static void Project(ReadOnlySpan<Vector3> positions, in OrthographicView view, Span<RasterVertex> vertices)
    {
        Debug.Assert(positions.Length == vertices.Length, "one vertex for each position");
        float scale = view.PixelsPerUnit * SubPixels;
        Vector3 right = view.Right * scale, down = view.Up * -scale, toward = view.Toward, centre = view.Centre;

        // Lanes: x, y, z of the image, unused. Each row tells what one mesh coordinate adds to them.
        var perX = Vector128.Create(right.X, down.X, toward.X, 0);
        var perY = Vector128.Create(right.Y, down.Y, toward.Y, 0);
        var perZ = Vector128.Create(right.Z, down.Z, toward.Z, 0);
        Vector128<float> limit = Vector128.Create(Limit);
        Vector128<int> middle = Vector128.Create(view.Size * (SubPixels / 2));
        var isDepth = Vector128.Create(0, 0, -1, 0);
        Span<Vector128<int>> lanes = MemoryMarshal.Cast<RasterVertex, Vector128<int>>(vertices);
        for (int v = 0; v < lanes.Length; v++)
        {
            Vector3 d = positions[v] - centre;
            Vector128<float> p = (perX * d.X) + (perY * d.Y) + (perZ * d.Z);
            Vector128<float> clamped = Vector128.Min(Vector128.Max(p, -limit), limit);
            Vector128<int> snapped = Vector128.ConvertToInt32(Vector128.Round(clamped)) + middle;
            lanes[v] = Vector128.ConditionalSelect(isDepth, p.AsInt32(), snapped);
        }
    }

    /// <summary>The scalar twin of the other overload.</summary>
    internal static RasterVertex ProjectScalar(Vector3 position, in OrthographicView view)
    {
        float scale = view.PixelsPerUnit * SubPixels;
        Vector3 right = view.Right * scale, down = view.Up * -scale, toward = view.Toward, d = position - view.Centre;
        int middle = view.Size * (SubPixels / 2);
        return new()
        {
            X = Snap((right.X * d.X) + (right.Y * d.Y) + (right.Z * d.Z)) + middle,
            Y = Snap((down.X * d.X) + (down.Y * d.Y) + (down.Z * d.Z)) + middle,
            Z = (toward.X * d.X) + (toward.Y * d.Y) + (toward.Z * d.Z),
        };
    }

    private static int Snap(float subPixels) => (int)MathF.Round(Math.Clamp(subPixels, -Limit, Limit));
}
