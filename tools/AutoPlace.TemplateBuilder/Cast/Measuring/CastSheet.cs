using System.Numerics;
using AutoPlace.Export;
using AutoPlace.Geometry;
using AutoPlace.Rendering;
using SixLabors.ImageSharp;
using SixLabors.ImageSharp.Formats.Png;
using SixLabors.ImageSharp.PixelFormats;
using SixLabors.ImageSharp.Processing;
using SixLabors.ImageSharp.Processing.Processors.Quantization;

namespace AutoPlace.TemplateBuilder.Cast.Measuring;

/// <summary>A picture of all heads with their lattices, from the front and at three quarters.</summary>
internal sealed class CastSheet : IDisposable
{
    private const int PanelSize = 300;
    private const int HeadsPerRow = 3;
    private const int Gap = 6;

    private readonly List<Image<Rgba32>> _heads = [];

    /// <summary>Adds a placed head.</summary>
    public void Add(string name, PlacementResult result)
    {
        PictureView front = PictureOptions.Sheet[0], turned = PictureOptions.Sheet[1];
        _heads.Add(LatticePicture.Draw(
            PictureContent.Of(result),
            new PictureOptions { Views = [front with { Caption = name }, turned with { Caption = string.Empty }], PanelSize = PanelSize, Columns = 2, Legend = false }));
    }

    /// <summary>The sheet, for the caller to dispose of.</summary>
    public Image<Rgba32> Draw()
    {
        int width = _heads[0].Width, height = _heads[0].Height, rows = (_heads.Count + HeadsPerRow - 1) / HeadsPerRow;
        var sheet = new Image<Rgba32>((HeadsPerRow * (width + Gap)) - Gap, (rows * (height + Gap)) - Gap, new Rgba32(255, 255, 255));
        for (int i = 0; i < _heads.Count; i++)
        {
            var at = new Point(i % HeadsPerRow * (width + Gap), i / HeadsPerRow * (height + Gap));
            sheet.Mutate(picture => picture.DrawImage(_heads[i], at, 1));
        }

        return sheet;
    }

    /// <summary>Views of everything in a file, from the front, at three quarters and from behind.</summary>
    public static PictureOptions Whole(TriangleMesh mesh)
    {
        Vector3 low = new(float.PositiveInfinity), high = -low;
        foreach (int v in mesh.Indices)
        {
            (low, high) = (Vector3.Min(low, mesh.Positions[v]), Vector3.Max(high, mesh.Positions[v]));
        }

        float half = (high - low).Length() / 2;
        return new PictureOptions { Views = [View(0), View(38), View(150)], Floor = low.Y - 1, Fit = false, Legend = false };

        PictureView View(float yaw) => new(string.Empty, OrthographicView.Around((low + high) / 2, yaw, 5, half, 1));
    }

    /// <summary>Encodes a picture with 256 colours, a third of the size.</summary>
    public static byte[] Png(Image<Rgba32> picture)
    {
        using var stream = new MemoryStream();
        picture.SaveAsPng(stream, new PngEncoder
        {
            ColorType = PngColorType.Palette,
            Quantizer = new WuQuantizer(),
            CompressionLevel = PngCompressionLevel.BestCompression,
        });
        return stream.ToArray();
    }

    /// <inheritdoc/>
    public void Dispose() => _heads.ForEach(head => head.Dispose());
}
