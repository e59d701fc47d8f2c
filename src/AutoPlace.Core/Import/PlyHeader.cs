namespace AutoPlace.Import;

/// <summary>How numbers of a PLY file are stored.</summary>
internal enum PlyEncoding
{
    /// <summary>As text.</summary>
    Ascii,

    /// <summary>Lowest byte first.</summary>
    LittleEndian,

    /// <summary>Highest byte first.</summary>
    BigEndian,
}

/// <summary>Number types of PLY.</summary>
internal enum PlyType
{
    /// <summary>8-bit signed.</summary>
    Int8,

    /// <summary>8-bit unsigned.</summary>
    UInt8,

    /// <summary>16-bit signed.</summary>
    Int16,

    /// <summary>16-bit unsigned.</summary>
    UInt16,

    /// <summary>32-bit signed.</summary>
    Int32,

    /// <summary>32-bit unsigned.</summary>
    UInt32,

    /// <summary>Single precision.</summary>
    Float32,

    /// <summary>Double precision.</summary>
    Float64,
}

/// <summary>A property: a number, or a list of numbers when <paramref name="CountType"/> is set.</summary>
/// <param name="Name">Name in the file.</param>
/// <param name="Type">Type of the number or of the list's items.</param>
/// <param name="CountType">Type of the list's length, or null.</param>
internal sealed record PlyProperty(string Name, PlyType Type, PlyType? CountType);

/// <summary>An element: so many rows of the same properties.</summary>
/// <param name="Name">Name in the file.</param>
/// <param name="Count">Number of rows as the header says.</param>
/// <param name="Properties">Properties in file order.</param>
internal sealed record PlyElement(string Name, long Count, List<PlyProperty> Properties)
{
    /// <summary>Bytes of the shortest row: lists empty; in text one digit and one blank for each number.</summary>
    public long LeastRowBytes(PlyEncoding encoding)
    {
        long bytes = 0;
        foreach (PlyProperty property in Properties)
        {
            bytes += encoding == PlyEncoding.Ascii ? 2 : PlyHeader.ByteLength(property.CountType ?? property.Type);
        }

        return bytes;
    }

    /// <summary>Index of the first property with one of the names, or -1.</summary>
    public int IndexOf(params ReadOnlySpan<string> names)
    {
        for (int i = 0; i < Properties.Count; i++)
        {
            if (names.Contains(Properties[i].Name))
            {
                return i;
            }
        }

        return -1;
    }
}

/// <summary>The header of a PLY file.</summary>
/// <param name="Encoding">How numbers are stored.</param>
/// <param name="Elements">Elements in file order.</param>
/// <param name="Length">Bytes of the header, its last line end included.</param>
/// <param name="Lines">Lines of the header.</param>
internal sealed record PlyHeader(PlyEncoding Encoding, List<PlyElement> Elements, int Length, int Lines)
{
    /// <summary>Bytes of a number.</summary>
    public static int ByteLength(PlyType type) => type switch
    {
        PlyType.Int8 or PlyType.UInt8 => 1,
        PlyType.Int16 or PlyType.UInt16 => 2,
        PlyType.Int32 or PlyType.UInt32 or PlyType.Float32 => 4,
        _ => 8,
    };

    /// <summary>Reads the header.</summary>
    /// <exception cref="MeshFormatException">A line can't be read, or the file ends before the header does.</exception>
    public static PlyHeader Read(MeshSource source)
    {
        var text = new TextScanner(source.Bytes, comments: false);
        PlyEncoding? encoding = null;
        var elements = new List<PlyElement>();
        text.RestOfLine();
        while (true)
        {
            if (!text.NextLine())
            {
                throw source.Fault($"line {text.Line}", "the file ends before its header does ('end_header')");
            }

            int line = text.Line;
            string[] words = LineText(text.RestOfLine()).Split((char[]?)null, StringSplitOptions.RemoveEmptyEntries);
            switch (words)
            {
                case ["end_header"]:
                    return End(ref text, source, encoding, elements);
                case ["format", string name, ..]:
                    encoding = ParseEncoding(name) ?? throw source.Fault($"line {line}", $"unknown format '{name}'");
                    break;
                case ["element", string name, string count]:
                    elements.Add(new PlyElement(name, ParseCount(count, source, line), []));
                    break;
                case ["property", ..] when elements.Count > 0:
                    elements[^1].Properties.Add(ParseProperty(words, source, line));
                    break;
                case [] or ["comment", ..] or ["obj_info", ..]:
                    break;
                default:
                    throw source.Fault($"line {line}", $"'{string.Join(' ', words)}' is not a line of a PLY header");
            }
        }
    }

    private static string LineText(ReadOnlySpan<byte> line) => System.Text.Encoding.UTF8.GetString(line);

    private static PlyHeader End(
        ref TextScanner text, MeshSource source, PlyEncoding? encoding, List<PlyElement> elements)
    {
        if (encoding is null)
        {
            throw source.Fault("header", "no 'format' line");
        }

        // A lone CR ends the header only if it ended the first line too: the byte LF may begin binary data.
        ReadOnlySpan<byte> bytes = source.Bytes;
        int firstEnd = bytes.IndexOfAny((byte)'\n', (byte)'\r');
        bool loneReturn = bytes[firstEnd] == (byte)'\r' && bytes[firstEnd + 1] != (byte)'\n';
        if (loneReturn)
        {
            return new PlyHeader(encoding.Value, elements, Math.Min(text.Position + 1, bytes.Length), text.Line);
        }

        int lines = text.Line;
        text.NextLine();
        return new PlyHeader(encoding.Value, elements, text.Position, lines);
    }

    private static PlyEncoding? ParseEncoding(string name) => name switch
    {
        "ascii" => PlyEncoding.Ascii,
        "binary_little_endian" => PlyEncoding.LittleEndian,
        "binary_big_endian" => PlyEncoding.BigEndian,
        _ => null,
    };

    private static long ParseCount(string word, MeshSource source, int line) =>
        long.TryParse(word, out long count) && count >= 0
            ? count
            : throw source.Fault($"line {line}", $"'{word}' is not a number of rows");

    private static PlyProperty ParseProperty(string[] words, MeshSource source, int line) => words switch
    {
        ["property", "list", string count, string type, string name] =>
            new PlyProperty(name, ParseType(type, source, line), ParseCountType(count, source, line)),
        ["property", string type, string name] => new PlyProperty(name, ParseType(type, source, line), null),
        _ => throw source.Fault($"line {line}", $"'{string.Join(' ', words)}' is not a property"),
    };

    private static PlyType ParseCountType(string word, MeshSource source, int line)
    {
        PlyType type = ParseType(word, source, line);
        return type is PlyType.Float32 or PlyType.Float64
            ? throw source.Fault($"line {line}", $"'{word}' is not a type for the length of a list")
            : type;
    }

    private static PlyType ParseType(string word, MeshSource source, int line) => word switch
    {
        "char" or "int8" => PlyType.Int8,
        "uchar" or "uint8" => PlyType.UInt8,
        "short" or "int16" => PlyType.Int16,
        "ushort" or "uint16" => PlyType.UInt16,
        "int" or "int32" => PlyType.Int32,
        "uint" or "uint32" => PlyType.UInt32,
        "float" or "float32" => PlyType.Float32,
        "double" or "float64" => PlyType.Float64,
        _ => throw source.Fault($"line {line}", $"unknown type '{word}'"),
    };
}
