using System.Buffers.Binary;
using System.Numerics;
using System.Runtime.InteropServices;

namespace AutoPlace.Import;

/// <summary>
/// Reads the polygons of a Stanford PLY file, text or binary of either byte order: x, y, z of <c>vertex</c> and the list
/// <c>vertex_indices</c> (or <c>vertex_index</c>) of <c>face</c>; other elements and properties are passed over.
/// </summary>
internal static class PlyMeshReader
{
    /// <summary>Reads the file.</summary>
    /// <exception cref="MeshFormatException">Header or data can't be read; the message names line or row.</exception>
    public static HeadScan Read(MeshSource source)
    {
        PlyHeader header = PlyHeader.Read(source);
        CheckLength(source, header);
        var builder = new ScanBuilder(source, MeshFormat.Ply);
        int part = builder.Part(0, Path.GetFileNameWithoutExtension(source.Name), null);
        var data = new PlyData(source, header);
        int vertices = 0;
        bool split = false;
        foreach (PlyElement element in header.Elements)
        {
            if (element.Name == "vertex")
            {
                vertices += ReadVertices(ref data, element, builder, source);
                split = element.IndexOf("nx", "s", "u", "texture_u") >= 0;
            }
            else if (element.Name == "face")
            {
                ReadFaces(ref data, element, builder, part, vertices, source);
            }
            else if (element is { Name: "tristrips", Count: > 0 })
            {
                throw source.Fault("element 'tristrips'", "triangle strips can't be read; export faces instead");
            }
            else
            {
                for (long row = 0; row < element.Count; row++)
                {
                    data.SkipRow(element, row);
                }
            }
        }

        // Vertices with normals or texture coordinates are split where those jump.
        return builder.Build(split ? Welding.All : Welding.Borders, Pairing.IfProven);
    }

    /// <summary>What the header claims must fit the bytes that are there, before anything is made of that size.</summary>
    private static void CheckLength(MeshSource source, PlyHeader header)
    {
        long left = source.Bytes.Length - header.Length + 1L;
        foreach (PlyElement element in header.Elements)
        {
            long least = Math.Max(1, element.LeastRowBytes(header.Encoding));
            if (element.Count > left / least)
            {
                throw source.Fault(
                    $"element '{element.Name}'",
                    $"{element.Count} rows don't fit the {source.Bytes.Length - header.Length} bytes after the header");
            }
        }
    }

    private static int ReadVertices(ref PlyData data, PlyElement element, ScanBuilder builder, MeshSource source)
    {
        Span<int> axes = [element.IndexOf("x"), element.IndexOf("y"), element.IndexOf("z")];
        foreach (int axis in axes)
        {
            if (axis < 0 || element.Properties[axis].CountType is not null)
            {
                throw source.Fault("element 'vertex'", "no properties x, y, z");
            }
        }

        builder.Reserve(element.Count, 0, 0);
        Span<double> row = element.Properties.Count <= 64
            ? stackalloc double[element.Properties.Count]
            : new double[element.Properties.Count];
        for (long v = 0; v < element.Count; v++)
        {
            data.ReadRow(element, v, row);
            var p = new Vector3((float)row[axes[0]], (float)row[axes[1]], (float)row[axes[2]]);
            if (!builder.TryAddVertex(p))
            {
                throw source.Fault($"vertex {v}", $"position {p} is not finite");
            }
        }

        return (int)element.Count;
    }

    private static void ReadFaces(
        ref PlyData data, PlyElement element, ScanBuilder builder, int part, int vertexCount, MeshSource source)
    {
        int list = element.IndexOf("vertex_indices", "vertex_index");
        if (list < 0 || element.Properties[list].CountType is null)
        {
            throw source.Fault("element 'face'", "no list property vertex_indices");
        }

        builder.Reserve(0, element.Count, 3 * element.Count);
        var face = new List<int>();
        for (long f = 0; f < element.Count; f++)
        {
            for (int p = 0; p < element.Properties.Count; p++)
            {
                if (p == list)
                {
                    data.ReadIndices(element.Properties[p], f, vertexCount, face);
                }
                else
                {
                    data.Skip(element, element.Properties[p], f);
                }
            }

            builder.AddFace(CollectionsMarshal.AsSpan(face), part);
        }
    }

    /// <summary>The numbers after the header.</summary>
    private ref struct PlyData
    {
        private readonly MeshSource _source;
        private readonly PlyEncoding _encoding;
        private readonly ReadOnlySpan<byte> _bytes;
        private readonly int _firstLine;
        private TextScanner _text;
        private int _position;

        public PlyData(MeshSource source, PlyHeader header)
        {
            _source = source;
            _encoding = header.Encoding;
            _bytes = source.Bytes[header.Length..];
            _firstLine = header.Lines;
            _text = new TextScanner(_bytes, comments: false);
        }

        /// <summary>Reads the numbers of a row into their places; lists are passed over.</summary>
        public void ReadRow(PlyElement element, long row, scoped Span<double> values)
        {
            for (int p = 0; p < values.Length; p++)
            {
                PlyProperty property = element.Properties[p];
                if (property.CountType is null)
                {
                    values[p] = ReadNumber(property.Type, element, row);
                }
                else
                {
                    Skip(element, property, row);
                }
            }
        }

        public void SkipRow(PlyElement element, long row)
        {
            foreach (PlyProperty property in element.Properties)
            {
                Skip(element, property, row);
            }
        }

        public void Skip(PlyElement element, PlyProperty property, long row)
        {
            long count = property.CountType is { } type ? ReadLength(type, element.Name, row) : 1;
            if (_encoding != PlyEncoding.Ascii)
            {
                Take(count * PlyHeader.ByteLength(property.Type), element.Name, row);
                return;
            }

            for (long i = 0; i < count; i++)
            {
                Word(element.Name, row);
            }
        }

        public void ReadIndices(PlyProperty property, long row, int vertexCount, List<int> indices)
        {
            long count = ReadLength(property.CountType!.Value, "face", row);
            indices.Clear();
            for (long i = 0; i < count; i++)
            {
                long index = ReadInteger(property.Type, "face", row);
                if (index < 0 || index >= vertexCount)
                {
                    throw _source.Fault(Place("face", row), $"vertex {index} of {vertexCount} vertices");
                }

                indices.Add((int)index);
            }
        }

        private double ReadNumber(PlyType type, PlyElement element, long row)
        {
            if (_encoding == PlyEncoding.Ascii)
            {
                ReadOnlySpan<byte> word = Word(element.Name, row);
                return System.Buffers.Text.Utf8Parser.TryParse(word, out double value, out int used) && used == word.Length
                    ? value
                    : throw _source.Fault(Place(element.Name, row), $"'{TextScanner.Quoted(word)}' is not a number");
            }

            ReadOnlySpan<byte> bytes = Take(PlyHeader.ByteLength(type), element.Name, row);
            return type switch
            {
                PlyType.Float32 when _encoding == PlyEncoding.LittleEndian => BinaryPrimitives.ReadSingleLittleEndian(bytes),
                PlyType.Float32 => BinaryPrimitives.ReadSingleBigEndian(bytes),
                PlyType.Float64 when _encoding == PlyEncoding.LittleEndian => BinaryPrimitives.ReadDoubleLittleEndian(bytes),
                PlyType.Float64 => BinaryPrimitives.ReadDoubleBigEndian(bytes),
                _ => Integer(type, bytes),
            };
        }

        private long ReadLength(PlyType type, string element, long row)
        {
            long count = ReadInteger(type, element, row);
            return count < 0 ? throw _source.Fault(Place(element, row), $"a list of {count} items") : count;
        }

        private long ReadInteger(PlyType type, string element, long row)
        {
            if (_encoding == PlyEncoding.Ascii)
            {
                ReadOnlySpan<byte> word = Word(element, row);
                return TextScanner.TryInteger(word, out long value)
                    ? value
                    : throw _source.Fault(Place(element, row), $"'{TextScanner.Quoted(word)}' is not an integer");
            }

            if (type is PlyType.Float32 or PlyType.Float64)
            {
                throw _source.Fault($"element '{element}'", "vertex indices are not integers");
            }

            return Integer(type, Take(PlyHeader.ByteLength(type), element, row));
        }

        private readonly long Integer(PlyType type, ReadOnlySpan<byte> bytes)
        {
            bool little = _encoding == PlyEncoding.LittleEndian;
            return type switch
            {
                PlyType.Int8 => (sbyte)bytes[0],
                PlyType.UInt8 => bytes[0],
                PlyType.Int16 => little ? BinaryPrimitives.ReadInt16LittleEndian(bytes) : BinaryPrimitives.ReadInt16BigEndian(bytes),
                PlyType.UInt16 => little ? BinaryPrimitives.ReadUInt16LittleEndian(bytes) : BinaryPrimitives.ReadUInt16BigEndian(bytes),
                PlyType.Int32 => little ? BinaryPrimitives.ReadInt32LittleEndian(bytes) : BinaryPrimitives.ReadInt32BigEndian(bytes),
                _ => little ? BinaryPrimitives.ReadUInt32LittleEndian(bytes) : BinaryPrimitives.ReadUInt32BigEndian(bytes),
            };
        }

        private ReadOnlySpan<byte> Take(long count, string element, long row)
        {
            if (count > _bytes.Length - _position)
            {
                throw _source.Fault(Place(element, row), "the file ends within it");
            }

            ReadOnlySpan<byte> taken = _bytes.Slice(_position, (int)count);
            _position += (int)count;
            return taken;
        }

        private ReadOnlySpan<byte> Word(string element, long row) => _text.TryWordBelow(out ReadOnlySpan<byte> word)
            ? word
            : throw _source.Fault(Place(element, row), "the file ends within it");

        private readonly string Place(string element, long row) => _encoding == PlyEncoding.Ascii
            ? $"line {_firstLine + _text.Line}: {element} {row}"
            : $"{element} {row}";
    }
}
