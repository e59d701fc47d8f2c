using System.Numerics;
using SixLabors.ImageSharp;
using SixLabors.ImageSharp.Advanced;
using SixLabors.ImageSharp.PixelFormats;

namespace AutoPlace.Export;

/// <summary>
/// A small antialiased drawing surface. Strokes and shapes are first gathered as coverage, each pixel keeping the
/// largest, and then painted in one go, so that what overlaps within one stroke isn't painted twice. Coverage is the
/// signed distance to the outline in pixels, clamped to half a pixel on either side. Colours are sRGB-encoded, [0, 1].
/// </summary>
internal sealed class PictureCanvas
{
    private readonly Vector3[] _pixels;
    private readonly float[] _coverage;
    private int _left, _top, _right, _bottom;

    internal PictureCanvas(int width, int height, Vector3 background)
    {
        Width = width;
        Height = height;
        _pixels = new Vector3[width * height];
        _coverage = new float[width * height];
        Array.Fill(_pixels, background);
        ForgetCoverage();
    }

    internal int Width { get; }

    internal int Height { get; }

    /// <summary>Pixels, row by row from the top.</summary>
    internal Span<Vector3> Pixels => _pixels;

    /// <summary>Gathers a straight stroke with round ends.</summary>
    internal void AddStroke(Vector2 from, Vector2 to, float width)
    {
        float half = width / 2;
        Vector2 along = to - from;
        float inverse = 1 / MathF.Max(along.LengthSquared(), 1e-12f);
        Box box = Within(Vector2.Min(from, to), Vector2.Max(from, to), half);
        for (int y = box.Top; y <= box.Bottom; y++)
        {
            for (int x = box.Left; x <= box.Right; x++)
            {
                Vector2 p = new Vector2(x + 0.5f, y + 0.5f) - from;
                float t = Math.Clamp(Vector2.Dot(p, along) * inverse, 0, 1);
                Cover(x, y, (p - (along * t)).Length() - half);
            }
        }
    }

    /// <summary>Gathers a filled marker.</summary>
    /// <param name="shape">Its shape; all shapes have the area of the disc.</param>
    /// <param name="centre">Its centre, pixels.</param>
    /// <param name="radius">Radius of the disc, pixels.</param>
    internal void AddMarker(MarkerShape shape, Vector2 centre, float radius)
    {
        Box box = Within(centre, centre, 2 * radius);
        for (int y = box.Top; y <= box.Bottom; y++)
        {
            for (int x = box.Left; x <= box.Right; x++)
            {
                Cover(x, y, Distance(shape, new Vector2(x + 0.5f, y + 0.5f) - centre, radius));
            }
        }
    }

    /// <summary>Gathers a marker's outline, centred on its border.</summary>
    internal void AddMarkerOutline(MarkerShape shape, Vector2 centre, float radius, float width)
    {
        Box box = Within(centre, centre, (2 * radius) + width);
        for (int y = box.Top; y <= box.Bottom; y++)
        {
            for (int x = box.Left; x <= box.Right; x++)
            {
                float d = Distance(shape, new Vector2(x + 0.5f, y + 0.5f) - centre, radius);
                Cover(x, y, MathF.Abs(d) - (width / 2));
            }
        }
    }

    /// <summary>Paints what was gathered and forgets it.</summary>
    /// <param name="colour">sRGB-encoded colour.</param>
    /// <param name="opacity">0 to 1.</param>
    internal void Paint(Vector3 colour, float opacity = 1)
    {
        for (int y = _top; y <= _bottom; y++)
        {
            for (int x = _left; x <= _right; x++)
            {
                int pixel = (y * Width) + x;
                _pixels[pixel] = Vector3.Lerp(_pixels[pixel], colour, _coverage[pixel] * opacity);
                _coverage[pixel] = 0;
            }
        }

        ForgetCoverage();
    }

    /// <summary>Copies the picture into an image, opaque.</summary>
    /// <param name="image">The image; the picture lies within it.</param>
    /// <param name="left">Where the picture's left edge goes.</param>
    /// <param name="top">Where its top edge goes.</param>
    internal void CopyTo(Image<Rgba32> image, int left, int top)
    {
        for (int y = 0; y < Height; y++)
        {
            Span<Rgba32> row = image.DangerousGetPixelRowMemory(top + y).Span.Slice(left, Width);
            for (int x = 0; x < Width; x++)
            {
                row[x] = new Rgba32(_pixels[(y * Width) + x]);
            }
        }
    }

    // Signed distance to the border, negative inside. Polygons: the largest distance to a side's line.
    private static float Distance(MarkerShape shape, Vector2 p, float radius)
    {
        const float squareSide = 0.886f; // sqrt(pi) / 2: half the side of a square with the unit disc's area
        const float triangleInradius = 0.778f; // sqrt(pi / (3 sqrt 3)): of the equilateral triangle with that area
        return shape switch
        {
            MarkerShape.Square => MathF.Max(MathF.Abs(p.X), MathF.Abs(p.Y)) - (squareSide * radius),
            MarkerShape.Diamond => ((MathF.Abs(p.X) + MathF.Abs(p.Y)) * 0.7071068f) - (squareSide * radius),
            MarkerShape.Triangle => MathF.Max(p.Y, (MathF.Abs(p.X) * 0.8660254f) - (p.Y / 2)) - (triangleInradius * radius),
            _ => p.Length() - radius,
        };
    }

    private void Cover(int x, int y, float distance)
    {
        float coverage = Math.Clamp(0.5f - distance, 0, 1);
        ref float held = ref _coverage[(y * Width) + x];
        held = MathF.Max(held, coverage);
    }

    // Pixels that something with the given margin about a box can touch; they count as gathered.
    private Box Within(Vector2 min, Vector2 max, float margin)
    {
        var box = new Box(
            (int)Math.Clamp(MathF.Floor(min.X - margin - 1), 0, Width),
            (int)Math.Clamp(MathF.Floor(min.Y - margin - 1), 0, Height),
            (int)Math.Clamp(MathF.Ceiling(max.X + margin + 1), -1, Width - 1),
            (int)Math.Clamp(MathF.Ceiling(max.Y + margin + 1), -1, Height - 1));
        if (box.Left <= box.Right && box.Top <= box.Bottom)
        {
            (_left, _top) = (Math.Min(_left, box.Left), Math.Min(_top, box.Top));
            (_right, _bottom) = (Math.Max(_right, box.Right), Math.Max(_bottom, box.Bottom));
        }

        return box;
    }

    private void ForgetCoverage() => (_left, _top, _right, _bottom) = (Width, Height, -1, -1);

    private readonly record struct Box(int Left, int Top, int Right, int Bottom);
}
