using System.Numerics;
using System.Runtime.CompilerServices;
using AutoPlace.Geometry;

namespace AutoPlace.Rendering;

/// <summary>
/// A head as grey clay, for people to look at: two lights, a sky brighter than the floor, and darker folds (ambient
/// obscurance after McGuire, Osman, Bukowski and Hennessy 2011, section 3, with a fixed sampling pattern so that equal
/// input gives equal pixels). Drawn with four samples a pixel.
/// </summary>
/// <remarks>
/// The methods for a pixel are optimised at their first call, since most programs draw one picture and end: a view of
/// 640 pixels a side took 1.3 s otherwise, 0.2 s so.
/// </remarks>
public sealed class ClayRendering
{
    private const int Directions = 8;

    // Distances at which obscurance is sampled and beyond which it has no effect, interocular distances.
    private static readonly float[] SampleRadii = [0.04f, 0.10f, 0.22f, 0.45f];
    private const float Reach = 0.7f;

    // Two pixels show one surface up to this difference in depth, interocular distances, and this cosine between normals.
    private const float SameDepth = 0.02f, SameNormal = 0.98f;

    // Directions to the lights in view space; colours are linear.
    private static readonly Vector3 KeyLight = Vector3.Normalize(new(-0.50f, 0.62f, 0.62f));
    private static readonly Vector3 FillLight = Vector3.Normalize(new(0.80f, 0.05f, 0.45f));
    private static readonly Vector3 KeyColour = new(0.86f, 0.83f, 0.79f);
    private static readonly Vector3 FillColour = new(0.20f, 0.23f, 0.27f);
    private static readonly Vector3 SkyColour = new(0.30f, 0.31f, 0.32f);
    private static readonly Vector3 FloorColour = new(0.15f, 0.14f, 0.13f);
    private static readonly Vector3 Clay = new(0.52f, 0.50f, 0.48f);

    private readonly Vector4[] _pixels;

    private ClayRendering(OrthographicView view, VisibilityBuffer samples, Vector4[] pixels)
    {
        View = view;
        Samples = samples;
        _pixels = pixels;
    }

    /// <summary>The view that was drawn.</summary>
    public OrthographicView View { get; }

    /// <summary>What the four samples of each pixel see: twice as many pixels a side as the view has.</summary>
    public VisibilityBuffer Samples { get; }

    /// <summary>Linear red, green, blue, times coverage, and coverage; S² pixels, row by row from the top.</summary>
    public ReadOnlySpan<Vector4> Pixels => _pixels;

    /// <summary>Draws a mesh.</summary>
    /// <param name="mesh">The mesh, head frame, interocular distances.</param>
    /// <param name="vertexNormals">V unit normals; empty for flat triangles.</param>
    /// <param name="view">The view; at most 4096 pixels a side.</param>
    /// <param name="spent">An earlier rendering that nobody needs any more; its memory is taken when the size is the same.</param>
    /// <exception cref="ArgumentException">Another number of normals than vertices.</exception>
    public static ClayRendering Draw(
        TriangleMesh mesh, ReadOnlyMemory<Vector3> vertexNormals, OrthographicView view, ClayRendering? spent = null)
    {
        OrthographicView fine = view.WithSize(2 * view.Size);
        bool reuse = spent?.View.Size == view.Size;
        VisibilityBuffer samples = reuse ? spent!.Samples : new VisibilityBuffer(fine.Size);
        Vector4[] pixels = reuse ? spent!._pixels : new Vector4[view.Size * view.Size];
        ViewNormals.CheckShapes(samples, fine, mesh, vertexNormals.Span);
        samples.Clear();
        Rasterizer.Rasterize(mesh, fine, samples);
        Tap[] taps = Taps(fine);
        Parallel.For(0, view.Size, y =>
        {
            ReadOnlySpan<Vector3> normals = vertexNormals.Span;
            Obscured nearby = default;
            for (int x = 0; x < view.Size; x++)
            {
                pixels[(y * view.Size) + x] = Pixel(x, y, fine, samples, mesh, normals, taps, ref nearby);
            }
        });
        return new(view, samples, pixels);
    }

    [MethodImpl(MethodImplOptions.AggressiveOptimization)]
    private static Vector4 Pixel(
        int x,
        int y,
        in OrthographicView fine,
        VisibilityBuffer samples,
        TriangleMesh mesh,
        ReadOnlySpan<Vector3> vertexNormals,
        Tap[] taps,
        ref Obscured nearby)
    {
        Vector3 sum = Vector3.Zero;
        int seen = 0;
        for (int i = 0; i < 4; i++)
        {
            int sample = (((2 * y) + (i >> 1)) * fine.Size) + (2 * x) + (i & 1);
            if (samples.Triangles[sample] == VisibilityBuffer.Background)
            {
                continue;
            }

            // Obscurance varies slowly: the first sample's stands for all four, and for the next pixel's on the same surface.
            Vector3 normal = ViewNormals.At(sample, samples, fine, mesh, vertexNormals);
            if (seen == 0 && !nearby.Holds(x, samples.Z[sample], normal))
            {
                nearby = new Obscured(x, samples.Z[sample], normal, Openness(sample, samples, normal, taps));
            }

            sum += Shade(normal, nearby.Openness);
            seen++;
        }

        return new Vector4(sum / 4, seen / 4f);
    }

    [MethodImpl(MethodImplOptions.AggressiveOptimization)]
    private static Vector3 Shade(Vector3 normal, float openness)
    {
        // Light wraps a little around the surface, which keeps the shadow side readable.
        float key = MathF.Max(0, (Vector3.Dot(normal, KeyLight) + 0.15f) / 1.15f);
        float fill = MathF.Max(0, (Vector3.Dot(normal, FillLight) + 0.3f) / 1.3f);
        Vector3 ambient = Vector3.Lerp(FloorColour, SkyColour, 0.5f + (0.5f * normal.Y)) * openness;
        Vector3 half = Vector3.Normalize(KeyLight + Vector3.UnitZ);
        float gloss = MathF.Max(0, Vector3.Dot(normal, half)), gloss2 = gloss * gloss, gloss4 = gloss2 * gloss2, gloss8 = gloss4 * gloss4;
        float shine = 0.05f * gloss8 * gloss8 * gloss8;
        float shadow = 0.45f + (0.55f * openness);
        return (Clay * (ambient + (((KeyColour * key) + (FillColour * fill)) * shadow))) + new Vector3(shine * openness);
    }

    // 1 in the open, towards 0 in folds.
    [MethodImpl(MethodImplOptions.AggressiveOptimization)]
    private static float Openness(int sample, VisibilityBuffer samples, Vector3 normal, Tap[] taps)
    {
        int size = samples.Size, x = sample % size, y = sample / size;
        float z = samples.Z[sample], sum = 0;
        ReadOnlySpan<float> depth = samples.Z;
        foreach (Tap tap in taps)
        {
            int sx = x + tap.Right, sy = y + tap.Down;
            if ((uint)sx >= (uint)size || (uint)sy >= (uint)size)
            {
                continue;
            }

            // Over the background the distance is infinite, so that nothing is hidden.
            float toward = depth[(sy * size) + sx] - z, squared = tap.Squared + (toward * toward);
            float length = MathF.Sqrt(squared);
            float above = (tap.X * normal.X) + (tap.Y * normal.Y) + (toward * normal.Z) - (0.08f * length);
            if (above > 0 && squared < Reach * Reach)
            {
                sum += above / length * (1 - (squared / (Reach * Reach)));
            }
        }

        return MathF.Exp(-2.6f * sum / taps.Length);
    }

    // Rings of directions, each ring turned against the next.
    private static Tap[] Taps(in OrthographicView fine)
    {
        var taps = new Tap[Directions * SampleRadii.Length];
        for (int ring = 0; ring < SampleRadii.Length; ring++)
        {
            for (int i = 0; i < Directions; i++)
            {
                float angle = MathF.Tau * (i + ((float)ring / SampleRadii.Length)) / Directions;
                Vector2 pixels = new Vector2(MathF.Cos(angle), MathF.Sin(angle)) * (SampleRadii[ring] * fine.PixelsPerUnit);
                (int right, int down) = ((int)MathF.Round(pixels.X), (int)MathF.Round(pixels.Y));
                Vector2 offset = new Vector2(right, -down) / fine.PixelsPerUnit;
                taps[(ring * Directions) + i] = new Tap(right, down, offset.X, offset.Y, offset.LengthSquared() + 1e-6f);
            }
        }

        return taps;
    }

    /// <summary>A place at which obscurance is sampled: pixels to the right and down, the same in interocular distances (right, up), squared distance.</summary>
    // Openness at a pixel of a row, with depth and normal there.
    private readonly record struct Obscured(int X, float Z, Vector3 Normal, float Openness)
    {
        public bool Holds(int x, float z, Vector3 normal) =>
            x == X + 1 && MathF.Abs(z - Z) < SameDepth && Vector3.Dot(normal, Normal) > SameNormal;
    }

    private readonly record struct Tap(int Right, int Down, float X, float Y, float Squared);
}
