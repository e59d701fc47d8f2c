using System.Numerics;
using AutoPlace.Geometry;
using SixLabors.ImageSharp;
using SixLabors.ImageSharp.Formats.Png;
using SixLabors.ImageSharp.PixelFormats;

namespace AutoPlace.Rendering;

/// <summary>Views as PNG files. Equal views give equal bytes.</summary>
public static class ViewImages
{
    // Depths from -2 to 2 half sizes are told apart; a head seen whole needs about half of that.
    private const float DepthRange = 2;

    /// <summary>
    /// Writes depth as a 16-bit greyscale PNG: 0 is background, else 1 + round((d + 2) / 4 * 65534), where d is the
    /// depth towards the viewer relative to the view's centre in half sizes, clamped to +-2. Nearer is brighter.
    /// </summary>
    /// <param name="buffer">What each pixel sees.</param>
    /// <param name="view">The view that the buffer was drawn with.</param>
    /// <param name="stream">Receives the file; left open.</param>
    /// <exception cref="ArgumentException">View and buffer differ in size.</exception>
    public static void WriteDepth(VisibilityBuffer buffer, in OrthographicView view, Stream stream)
    {
        ArgumentNullException.ThrowIfNull(buffer);
        ArgumentNullException.ThrowIfNull(stream);
        if (view.Size != buffer.Size)
        {
            throw new ArgumentException($"The view has {view.Size} pixels a side, the buffer {buffer.Size}.", nameof(buffer));
        }

        float halfSize = view.HalfSize;
        using var image = new Image<L16>(buffer.Size, buffer.Size);
        image.ProcessPixelRows(rows =>
        {
            for (int y = 0; y < rows.Height; y++)
            {
                Span<L16> row = rows.GetRowSpan(y);
                ReadOnlySpan<float> z = buffer.Z.Slice(y * buffer.Size, buffer.Size);
                for (int x = 0; x < row.Length; x++)
                {
                    row[x] = new L16(DepthCode(z[x], halfSize));
                }
            }
        });
        image.SaveAsPng(stream, new PngEncoder { BitDepth = PngBitDepth.Bit16, ColorType = PngColorType.Grayscale });
    }

    /// <summary>The pixel value of <see cref="WriteDepth"/>.</summary>
    /// <param name="z">View depth in the mesh's unit; negative infinity for background.</param>
    /// <param name="halfSize">Half the side of the square that the view shows.</param>
    public static ushort DepthCode(float z, float halfSize) =>
        float.IsNegativeInfinity(z)
            ? (ushort)0
            : (ushort)(1 + MathF.Round((Math.Clamp(z / halfSize, -DepthRange, DepthRange) + DepthRange) / (2 * DepthRange) * 65534));

    /// <summary>View depth of a pixel value of <see cref="WriteDepth"/>, to half a step (a 32,767th of the half size).</summary>
    /// <param name="code">The pixel value.</param>
    /// <param name="halfSize">Half the side of the square that the view shows.</param>
    /// <returns>Depth towards the viewer in the mesh's unit; negative infinity for background.</returns>
    public static float DepthOf(ushort code, float halfSize) =>
        code == 0 ? float.NegativeInfinity : (((code - 1) / 65534f * 2 * DepthRange) - DepthRange) * halfSize;

    /// <summary>
    /// Writes normals as an 8-bit colour PNG: red, green and blue are x, y and z in view space, round(127.5 + 127.5 n);
    /// background is black.
    /// </summary>
    /// <param name="buffer">What each pixel sees.</param>
    /// <param name="view">The view that the buffer was drawn with.</param>
    /// <param name="mesh">The mesh that the buffer was drawn from.</param>
    /// <param name="vertexNormals">V unit normals; empty for flat triangles.</param>
    /// <param name="stream">Receives the file; left open.</param>
    /// <exception cref="ArgumentException">Another number of normals than vertices, or view and buffer differ in size.</exception>
    public static void WriteNormals(
        VisibilityBuffer buffer, in OrthographicView view, TriangleMesh mesh, ReadOnlySpan<Vector3> vertexNormals, Stream stream)
    {
        ArgumentNullException.ThrowIfNull(buffer);
        ArgumentNullException.ThrowIfNull(stream);
        var normals = new Vector3[buffer.Size * buffer.Size];
        ViewNormals.Write(buffer, view, mesh, vertexNormals, normals);
        using var image = new Image<Rgb24>(buffer.Size, buffer.Size);
        image.ProcessPixelRows(rows =>
        {
            for (int y = 0; y < rows.Height; y++)
            {
                Span<Rgb24> row = rows.GetRowSpan(y);
                for (int x = 0; x < row.Length; x++)
                {
                    Vector3 normal = normals[(y * buffer.Size) + x];
                    row[x] = normal == Vector3.Zero ? default : new Rgb24(Code(normal.X), Code(normal.Y), Code(normal.Z));
                }
            }
        });
        image.SaveAsPng(stream, new PngEncoder { BitDepth = PngBitDepth.Bit8, ColorType = PngColorType.Rgb });
    }

    private static byte Code(float component) => (byte)MathF.Round(127.5f + (127.5f * Math.Clamp(component, -1, 1)));
}
