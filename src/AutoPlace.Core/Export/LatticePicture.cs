using System.Numerics;
using AutoPlace.Geometry;
using AutoPlace.Rendering;
using SixLabors.ImageSharp;
using SixLabors.ImageSharp.Formats.Png;
using SixLabors.ImageSharp.PixelFormats;

namespace AutoPlace.Export;

/// <summary>A picture of a lattice on its head, several views in one sheet.</summary>
public static class LatticePicture
{
    // The chin of the mean head lies 1.8 interocular distances below the eyes; a little of the neck belongs to the head.
    private const float LowestFitted = -2.0f;

    // Hands and things held don't count: this far out from a view's centre even hats end.
    private const float FurthestFitted = 3.5f;

    /// <summary>Joints farther from the eyes than this aren't in or on the head (what is looked at): they may run out of the picture.</summary>
    private const float FurthestJoint = 2.6f;

    private const float Margin = 0.07f;

    private static readonly Vector3 Paper = new(0.969f, 0.965f, 0.957f);
    private static readonly Vector3 Ink = new(0.20f, 0.20f, 0.22f);

    // A third of the time of the encoder's own choice, for the same size: shaded surfaces suit the filter.
    private static readonly PngEncoder QuickPng = new()
    {
        ColorType = PngColorType.Rgb,
        BitDepth = PngBitDepth.Bit8,
        FilterMethod = PngFilterMethod.Up,
        CompressionLevel = PngCompressionLevel.Level2,
    };

    /// <summary>Draws a placement as a PNG file.</summary>
    /// <param name="result">The placement.</param>
    /// <param name="options">How to show it; null for the defaults.</param>
    public static byte[] Png(PlacementResult result, PictureOptions? options = null)
    {
        using Image picture = Draw(PictureContent.Of(result), options);
        using var file = new MemoryStream();
        picture.SaveAsPng(file, QuickPng);
        return file.ToArray();
    }

    /// <summary>Draws the sheet. Equal input gives equal pixels, whatever the number of cores.</summary>
    /// <param name="content">What to show.</param>
    /// <param name="options">How to show it; null for the defaults.</param>
    /// <returns>An image that the caller disposes of.</returns>
    /// <exception cref="ArgumentException">Another number of normals than vertices, an edge's vertex outside the mesh.</exception>
    /// <exception cref="ArgumentOutOfRangeException">No view, a panel size outside 32 to 2048, no column.</exception>
    public static Image<Rgba32> Draw(PictureContent content, PictureOptions? options = null)
    {
        ArgumentNullException.ThrowIfNull(content);
        options ??= new PictureOptions();
        Check(content, options);
        TriangleMesh near = AboveFloor(content.Mesh, options.Floor);
        IReadOnlyList<PictureView> views = options.Fit ? Fitted(near, content.Joints, options.Views) : options.Views;
        int cells = views.Count + (options.Legend && content.Joints.Count > 0 ? 1 : 0), columns = Math.Min(options.Columns, cells);
        int rows = (cells + columns - 1) / columns, gap = columns * rows > 1 ? Math.Max(1, options.PanelSize / 90) : 0;
        int pitch = options.PanelSize + gap;
        var sheet = new Image<Rgba32>((columns * pitch) - gap, (rows * pitch) - gap, new Rgba32(Vector3.One));
        Parallel.For(0, columns * rows, () => (ClayRendering?)null, Panel, _ => { });
        return sheet;

        ClayRendering? Panel(int i, ParallelLoopState loop, ClayRendering? clay)
        {
            PictureCanvas panel = i < views.Count ? LatticePanel.Draw(content, near, views[i], options, ref clay)
                : i < cells ? Legend(content, options.PanelSize)
                : new PictureCanvas(options.PanelSize, options.PanelSize, Paper);
            panel.CopyTo(sheet, i % columns * pitch, i / columns * pitch);
            return clay;
        }
    }

    // The regions that occur, in the palette's order, in two columns.
    private static PictureCanvas Legend(PictureContent content, int size)
    {
        var canvas = new PictureCanvas(size, size, Paper);
        var counts = new Dictionary<string, int>(StringComparer.Ordinal);
        foreach (PictureJoint joint in content.Joints)
        {
            counts[joint.Region ?? string.Empty] = counts.GetValueOrDefault(joint.Region ?? string.Empty) + 1;
        }

        List<string> regions = [.. RegionPalette.Regions.Where(counts.ContainsKey)];
        int perColumn = Math.Max(1, (regions.Count + 1) / 2);
        float line = MathF.Min(size * 0.085f, size * 0.72f / perColumn), text = size * 0.036f;
        float top = (size - (line * perColumn)) / 2;
        for (int i = 0; i < regions.Count; i++)
        {
            var at = new Vector2(size * (i < perColumn ? 0.12f : 0.55f), top + (line * ((i % perColumn) + 0.5f)));
            LatticePanel.DrawMarker(canvas, regions[i], at, size * 0.0145f, hidden: false, faint: 1);
            StrokeFont.Add(canvas, $"{regions[i]} {counts[regions[i]]}", at + new Vector2(size * 0.045f, text * 0.25f), text);
            canvas.Paint(Ink);
        }

        return canvas;
    }

    // One scale for all views, so that they can be compared; the neck may run out of the picture, no joint of the head does.
    private static List<PictureView> Fitted(TriangleMesh mesh, IReadOnlyList<PictureJoint> joints, IReadOnlyList<PictureView> views)
    {
        var centred = new List<PictureView>(views.Count);
        float half = 0;
        foreach (PictureView view in views)
        {
            var min = new Vector2(float.PositiveInfinity);
            Vector2 max = -min;
            foreach (int vertex in mesh.Indices)
            {
                if (mesh.Positions[vertex].Y > LowestFitted && Vector3.Distance(mesh.Positions[vertex], view.View.Centre) < FurthestFitted)
                {
                    Enclose(mesh.Positions[vertex]);
                }
            }

            if (!(max.X >= min.X))
            {
                return [.. views];
            }

            foreach (PictureJoint joint in joints)
            {
                if (joint.Position.Length() < FurthestJoint)
                {
                    Enclose(joint.Position);
                }
            }

            Vector2 middle = (min + max) / 2, extent = (max - min) / 2;
            half = MathF.Max(half, MathF.Max(extent.X, extent.Y));
            Vector3 centre = view.View.Centre + (view.View.Right * middle.X) + (view.View.Up * middle.Y);
            centred.Add(view with { View = view.View with { Centre = centre } });

            void Enclose(Vector3 point)
            {
                Vector3 d = point - view.View.Centre;
                var at = new Vector2(Vector3.Dot(d, view.View.Right), Vector3.Dot(d, view.View.Up));
                (min, max) = (Vector2.Min(min, at), Vector2.Max(max, at));
            }
        }

        return centred.ConvertAll(v => v with { View = v.View with { HalfSize = half * (1 + Margin) } });
    }

    private static TriangleMesh AboveFloor(TriangleMesh mesh, float floor)
    {
        var kept = new List<int>(mesh.Indices.Length);
        for (int t = 0; t < mesh.TriangleCount; t++)
        {
            (Vector3 a, Vector3 b, Vector3 c) = mesh.Corners(t);
            if (MathF.Max(a.Y, MathF.Max(b.Y, c.Y)) > floor)
            {
                kept.AddRange(mesh.Indices.Slice(3 * t, 3));
            }
        }

        return new TriangleMesh(mesh.Positions.ToArray(), [.. kept]);
    }

    private static void Check(PictureContent content, PictureOptions options)
    {
        ArgumentOutOfRangeException.ThrowIfLessThan(options.Views.Count, 1);
        ArgumentOutOfRangeException.ThrowIfLessThan(options.Columns, 1);
        ArgumentOutOfRangeException.ThrowIfLessThan(options.PanelSize, 32);
        ArgumentOutOfRangeException.ThrowIfGreaterThan(options.PanelSize, 2048);
        int vertices = content.Mesh.VertexCount;
        if (!content.VertexNormals.IsEmpty && content.VertexNormals.Length != vertices)
        {
            throw new ArgumentException($"{content.VertexNormals.Length} normals for {vertices} vertices.", nameof(content));
        }

        for (int e = 0; e < content.Edges.Count; e++)
        {
            (int from, int to) = content.Edges[e];
            if ((uint)from >= (uint)vertices || (uint)to >= (uint)vertices)
            {
                throw new ArgumentException($"edge {e}: vertices {from} and {to} of {vertices}", nameof(content));
            }
        }
    }
}
