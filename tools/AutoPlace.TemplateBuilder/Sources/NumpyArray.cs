using System.Buffers.Binary;
using System.Globalization;
using System.Runtime.InteropServices;
using System.Text;
using System.Text.RegularExpressions;

namespace AutoPlace.TemplateBuilder.Sources;

/// <summary>Reads arrays in NumPy's file format, version 1.0 (NEP 1), little-endian float32 in C order.</summary>
internal static partial class NumpyArray
{
    /// <summary>Reads a two-dimensional float32 array.</summary>
    /// <param name="path">File to read.</param>
    /// <param name="columns">Expected length of the second dimension.</param>
    public static float[] ReadSingle(string path, int columns)
    {
        byte[] bytes = File.ReadAllBytes(path);
        if (bytes.Length < 10 || bytes[0] != 0x93 || !bytes.AsSpan(1, 5).SequenceEqual("NUMPY"u8) || bytes[6] != 1)
        {
            throw new InvalidDataException($"{path}: not a NumPy array of format 1.x");
        }

        int headerLength = BinaryPrimitives.ReadUInt16LittleEndian(bytes.AsSpan(8));
        string header = Encoding.ASCII.GetString(bytes, 10, headerLength);
        Match shape = Shape().Match(header);
        if (!header.Contains("'<f4'", StringComparison.Ordinal) || header.Contains("'fortran_order': True", StringComparison.Ordinal) || !shape.Success)
        {
            throw new InvalidDataException($"{path}: expected a two-dimensional float32 array, found {header.Trim()}");
        }

        int rows = int.Parse(shape.Groups[1].Value, CultureInfo.InvariantCulture);
        int found = int.Parse(shape.Groups[2].Value, CultureInfo.InvariantCulture);
        ReadOnlySpan<float> values = MemoryMarshal.Cast<byte, float>(bytes.AsSpan(10 + headerLength));
        return found == columns && values.Length == rows * columns
            ? values.ToArray()
            : throw new InvalidDataException($"{path}: {rows} x {found} numbers announced, {values.Length} found, {columns} columns needed");
    }

    [GeneratedRegex(@"'shape': \((\d+), (\d+)\)")]
    private static partial Regex Shape();
}
