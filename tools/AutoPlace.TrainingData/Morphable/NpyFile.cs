using System.Buffers.Binary;
using System.Globalization;
using System.Runtime.InteropServices;
using System.Text;
using System.Text.RegularExpressions;
using AutoPlace.Import;

namespace AutoPlace.TrainingData.Morphable;

/// <summary>Arrays in the .npy format of NumPy (format version 1.0, NEP 1), little endian, C order.</summary>
internal static partial class NpyFile
{
    private static ReadOnlySpan<byte> Magic => [0x93, (byte)'N', (byte)'U', (byte)'M', (byte)'P', (byte)'Y'];

    /// <summary>Reads an array of the given element type.</summary>
    /// <param name="path">The file.</param>
    /// <param name="shape">Its dimensions.</param>
    /// <exception cref="MeshFormatException">Not such a file, another element type, or a wrong length.</exception>
    public static T[] Read<T>(string path, out int[] shape)
        where T : unmanaged
    {
        byte[] bytes = File.ReadAllBytes(path);
        if (bytes.Length < 10 || !bytes.AsSpan(0, 6).SequenceEqual(Magic))
        {
            throw new MeshFormatException(path, null, "not an .npy file");
        }

        int headerLength = BinaryPrimitives.ReadUInt16LittleEndian(bytes.AsSpan(8));
        int start = 10 + headerLength;
        string header = start <= bytes.Length ? Encoding.Latin1.GetString(bytes, 10, headerLength) : "";
        Match shapeMatch = ShapePattern().Match(header);
        if (!shapeMatch.Success || header.Contains("'fortran_order': True", StringComparison.Ordinal))
        {
            throw new MeshFormatException(path, "header", "no shape, or column-major order");
        }

        if (!header.Contains($"'descr': '{Descriptor<T>()}'", StringComparison.Ordinal))
        {
            throw new MeshFormatException(path, "header", $"element type {Descriptor<T>()} expected, found {header.Trim()}");
        }

        shape = [.. shapeMatch.Groups[1].Value.Split(',', StringSplitOptions.TrimEntries | StringSplitOptions.RemoveEmptyEntries)
            .Select(s => int.Parse(s, CultureInfo.InvariantCulture))];
        long count = shape.Aggregate(1L, (product, n) => product * n);
        ReadOnlySpan<T> values = MemoryMarshal.Cast<byte, T>(bytes.AsSpan(start));
        if (values.Length != count)
        {
            throw new MeshFormatException(path, null, $"{values.Length} values for a shape of {count}");
        }

        return values.ToArray();
    }

    /// <summary>Writes an array under a temporary name, then renames it.</summary>
    public static void Write<T>(string path, ReadOnlySpan<T> values, params ReadOnlySpan<int> shape)
        where T : unmanaged
    {
        string dimensions = string.Join(", ", shape.ToArray()) + (shape.Length == 1 ? "," : "");
        string header = $"{{'descr': '{Descriptor<T>()}', 'fortran_order': False, 'shape': ({dimensions}), }}";
        header = header.PadRight(((10 + header.Length + 1 + 63) / 64 * 64) - 11) + "\n";
        using (FileStream stream = File.Create(path + ".tmp"))
        {
            stream.Write(Magic);
            stream.Write([1, 0, (byte)header.Length, (byte)(header.Length >> 8)]);
            stream.Write(Encoding.Latin1.GetBytes(header));
            stream.Write(MemoryMarshal.AsBytes(values));
        }

        File.Move(path + ".tmp", path, overwrite: true);
    }

    private static string Descriptor<T>() => typeof(T) == typeof(float) ? "<f4"
        : typeof(T) == typeof(short) ? "<i2"
        : throw new NotSupportedException(typeof(T).Name);

    [GeneratedRegex(@"'shape': \(([^)]*)\)")]
    private static partial Regex ShapePattern();
}
