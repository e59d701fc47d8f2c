using System.Buffers.Binary;
using System.Runtime.InteropServices;
using SixLabors.ImageSharp;
using SixLabors.ImageSharp.PixelFormats;

namespace AutoPlace.TrainingData.Output;

/// <summary>Draws records as pictures, for people to judge the labels.</summary>
internal static class ContactSheet
{
    private const int Size = RecordLayout.ImageSize;
    private const int Cells = RecordLayout.CellSize;
    private static readonly Rgb24[] ClassColours =
    [
        new(0, 0, 0), new(230, 180, 140), new(90, 180, 235), new(200, 60, 80), new(120, 90, 60), new(110, 110, 110),
    ];

    /// <summary>Normal images with material borders and landmarks: visible ones filled, hidden ones hollow; left ones green, right ones red.</summary>
    /// <param name="records">Records one after the other.</param>
    /// <param name="columns">Pictures in a row.</param>
    /// <param name="path">PNG file; written under a temporary name first.</param>
    public static void DrawLandmarks(ReadOnlyMemory<byte> records, int columns, string path) =>
        Draw(records, columns, path, DrawNormals);

    /// <summary>Classes and atlas points side by side within each picture.</summary>
    public static void DrawDense(ReadOnlyMemory<byte> records, int columns, string path) =>
        Draw(records, columns, path, DrawCells);

    private static void Draw(
        ReadOnlyMemory<byte> records, int columns, string path, Action<ReadOnlyMemory<byte>, Image<Rgb24>, int, int> drawOne)
    {
        int count = records.Length / RecordLayout.RecordBytes;
        int rows = (count + columns - 1) / columns;
        using var image = new Image<Rgb24>(columns * Size, rows * Size);
        for (int i = 0; i < count; i++)
        {
            drawOne(
                records.Slice(i * RecordLayout.RecordBytes, RecordLayout.RecordBytes), image, i % columns * Size, i / columns * Size);
        }

        using (FileStream stream = File.Create(path + ".tmp"))
        {
            image.SaveAsPng(stream);
        }

        File.Move(path + ".tmp", path, overwrite: true);
    }

    private static void DrawNormals(ReadOnlyMemory<byte> record, Image<Rgb24> image, int left, int top)
    {
        ReadOnlySpan<byte> bytes = record.Span;
        for (int y = 0; y < Size; y++)
        {
            for (int x = 0; x < Size; x++)
            {
                int i = (y * Size) + x;
                byte Channel(ReadOnlySpan<byte> b, int axis) => (byte)(128 + (sbyte)b[RecordLayout.Normal + (3 * i) + axis]);
                bool empty = BinaryPrimitives.ReadUInt16LittleEndian(bytes[(RecordLayout.Depth + (2 * i))..]) == 0;
                image[left + x, top + y] = empty ? new Rgb24(30, 30, 30)
                    : bytes[RecordLayout.Border + i] != 0 ? new Rgb24(255, 255, 255)
                    : new Rgb24(Channel(bytes, 0), Channel(bytes, 1), Channel(bytes, 2));
            }
        }

        ReadOnlySpan<float> landmarks = MemoryMarshal.Cast<byte, float>(bytes.Slice(RecordLayout.Landmarks, 12 * RecordLayout.LandmarkCount));
        for (int i = 0; i < RecordLayout.LandmarkCount; i++)
        {
            byte flags = bytes[RecordLayout.Flags + i];
            if (flags != 0)
            {
                string name = AutoPlace.Landmarks.LandmarkNames.All[i];
                Rgb24 colour = name.EndsWith("_left", StringComparison.Ordinal) ? new(60, 255, 60)
                    : name.EndsWith("_right", StringComparison.Ordinal) ? new(255, 60, 60) : new(255, 255, 0);
                Mark(image, left, top, landmarks[3 * i], landmarks[(3 * i) + 1], (flags & 2) != 0, colour);
            }
        }

        int kind = bytes[RecordLayout.Kind];
        for (int n = 0; n <= kind; n++)
        {
            Fill(image, left + 4 + (8 * n), top + 4, 5, bytes[RecordLayout.Facing] != 0 ? new(255, 255, 255) : new(255, 80, 200));
        }
    }

    private static void Mark(Image<Rgb24> image, int left, int top, float x, float y, bool filled, Rgb24 colour)
    {
        for (int dy = -2; dy <= 2; dy++)
        {
            for (int dx = -2; dx <= 2; dx++)
            {
                int px = (int)x + dx, py = (int)y + dy;
                bool ring = Math.Max(Math.Abs(dx), Math.Abs(dy)) == 2, core = Math.Max(Math.Abs(dx), Math.Abs(dy)) < 2;
                if (px >= 0 && py >= 0 && px < Size && py < Size && (filled ? core : ring))
                {
                    image[left + px, top + py] = colour;
                }
            }
        }
    }

    private static void Fill(Image<Rgb24> image, int left, int top, int size, Rgb24 colour)
    {
        for (int y = 0; y < size; y++)
        {
            for (int x = 0; x < size; x++)
            {
                image[left + x, top + y] = colour;
            }
        }
    }

    private static void DrawCells(ReadOnlyMemory<byte> record, Image<Rgb24> image, int left, int top)
    {
        ReadOnlySpan<byte> bytes = record.Span;
        ReadOnlySpan<Half> atlas = MemoryMarshal.Cast<byte, Half>(bytes.Slice(RecordLayout.Atlas, 6 * Cells * Cells));
        for (int y = 0; y < Cells; y++)
        {
            for (int x = 0; x < Cells; x++)
            {
                int i = (y * Cells) + x;
                Fill(image, left + (2 * x), top + (2 * y), 2, ClassColours[bytes[RecordLayout.Classes + i]]);
                var point = new Rgb24(Band(atlas[3 * i]), Band(atlas[(3 * i) + 1]), Band(atlas[(3 * i) + 2]));
                Fill(image, left + 128 + (2 * x), top + (2 * y), 2, point);
                byte shade = (byte)(BinaryPrimitives.ReadUInt16LittleEndian(
                    bytes[(RecordLayout.Depth + (2 * ((4 * y * Size) + (4 * x))))..]) >> 8);
                Fill(image, left + (2 * x), top + 128 + (2 * y), 2, new(shade, shade, shade));
            }
        }
    }

    // Stripes a fifth of an interocular distance wide make breaks and reversals of the map visible.
    private static byte Band(Half value) =>
        value == Half.Zero ? (byte)0 : (byte)(128 + (int)(120 * MathF.Sin((float)value * MathF.PI * 5)));
}
