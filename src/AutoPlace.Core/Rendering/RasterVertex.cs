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
    private const double Limit = (1 << 21) * SubPixels;

    internal int X;
    internal int Y;
    internal float Z;

    /// <summary>
    /// Projects and snaps vertices. Snapping is symmetric about the image's centre, so that a mirrored mesh lands on
    /// mirrored positions to the last bit. Sums are taken in double precision, where products of single ones are exact:
    /// in which order axes are summed, and so which way the file's axes point, all but never moves a vertex.
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
        var perX = Vector256.Create(right.X, down.X, toward.X, 0d);
        var perY = Vector256.Create(right.Y, down.Y, toward.Y, 0d);
        var perZ = Vector256.Create(right.Z, down.Z, toward.Z, 0d);
        Vector256<double> limit = Vector256.Create(Limit);
        Vector128<int> middle = Vector128.Create(view.Size * (SubPixels / 2));
        var isDepth = Vector128.Create(0, 0, -1, 0);
        Span<Vector128<int>> lanes = MemoryMarshal.Cast<RasterVertex, Vector128<int>>(vertices);
        for (int v = 0; v < lanes.Length; v++)
        {
            Vector3 d = positions[v] - centre;
            Vector256<double> p = (perX * d.X) + (perY * d.Y) + (perZ * d.Z);
            Vector256<double> rounded = Vector256.Round(Vector256.Min(Vector256.Max(p, -limit), limit));
            Vector128<int> snapped = Vector128.ConvertToInt32(Narrow(rounded)) + middle;
            lanes[v] = Vector128.ConditionalSelect(isDepth, Narrow(p).AsInt32(), snapped);
        }
    }

    // Whole numbers below 2^24, which is 65,536 pixels, stay what they are.
    private static Vector128<float> Narrow(Vector256<double> values) => Vector128.Narrow(values.GetLower(), values.GetUpper());

    /// <summary>The scalar twin of the other overload.</summary>
    internal static RasterVertex ProjectScalar(Vector3 position, in OrthographicView view)
    {
        float scale = view.PixelsPerUnit * SubPixels;
        Vector3 right = view.Right * scale, down = view.Up * -scale, toward = view.Toward, d = position - view.Centre;
        int middle = view.Size * (SubPixels / 2);
        return new()
        {
            X = Snap(Sum(right, d)) + middle,
            Y = Snap(Sum(down, d)) + middle,
            Z = (float)Sum(toward, d),
        };
    }

    private static double Sum(Vector3 axis, Vector3 d) => ((double)axis.X * d.X) + ((double)axis.Y * d.Y) + ((double)axis.Z * d.Z);

    private static int Snap(double subPixels) => (int)(float)Math.Round(Math.Clamp(subPixels, -Limit, Limit));
}
