using System.Buffers.Binary;
using System.Numerics;
using System.Runtime.InteropServices;
using System.Text;

namespace AutoPlace.Import;

/// <summary>
/// Reads stereolithography files, text or binary. Which of both is judged by the length first, since binary files may
/// begin with "solid" as well.
/// </summary>
internal static class StlMeshReader
{
    private const int HeaderBytes = 84;
    private const int TriangleBytes = 50;
    private const int NormalBytes = 12;

    /// <summary>Whether the length fits the number of triangles at byte 80.</summary>
    public static bool IsBinary(ReadOnlySpan<byte> bytes) =>
        bytes.Length >= HeaderBytes && bytes.Length == HeaderBytes + (TriangleBytes * (long)ClaimedTriangles(bytes));

    /// <summary>Whether this is the text form: "solid", and a facet or the end of the solid after it.</summary>
    public static bool IsText(ReadOnlySpan<byte> bytes)
    {
        var text = new TextScanner(bytes, comments: false);
        if (!text.TryWordBelow(out ReadOnlySpan<byte> word) || !Is(word, "solid"u8))
        {
            return false;
        }

        text.NextLine();
        return text.TryWordBelow(out word) && (Is(word, "facet"u8) || Is(word, "endsolid"u8));
    }

    /// <summary>Reads the file.</summary>
    /// <exception cref="MeshFormatException">A triangle or line can't be read; the message names it.</exception>
    public static HeadScan Read(MeshSource source)
    {
        var builder = new ScanBuilder(source, MeshFormat.Stl);
        if (!IsBinary(source.Bytes) && IsText(source.Bytes))
        {
            new TextParser(source, builder).Run();
        }
        else
        {
            ReadBinary(source, builder);
        }

        return builder.Build(Welding.All, Pairing.IfProven);
    }

    private static uint ClaimedTriangles(ReadOnlySpan<byte> bytes) => BinaryPrimitives.ReadUInt32LittleEndian(bytes[80..]);

    private static void ReadBinary(MeshSource source, ScanBuilder builder)
    {
        ReadOnlySpan<byte> bytes = source.Bytes;
        if (bytes.Length < HeaderBytes)
        {
            throw source.Fault("header", $"{bytes.Length} of {HeaderBytes} bytes");
        }

        uint claimed = ClaimedTriangles(bytes);
        bytes = bytes[HeaderBytes..];
        if (claimed > bytes.Length / TriangleBytes)
        {
            throw source.Fault(
                "header", $"{claimed} triangles claimed, the file holds {bytes.Length / TriangleBytes}");
        }

        builder.Reserve(3L * claimed, claimed, 3L * claimed);
        int part = builder.Part(0, Path.GetFileNameWithoutExtension(source.Name), null);
        for (int t = 0; t < (int)claimed; t++)
        {
            ReadOnlySpan<byte> corners = bytes.Slice((t * TriangleBytes) + NormalBytes, 3 * NormalBytes);
            for (int c = 0; c < 3; c++)
            {
                var p = new Vector3(
                    BinaryPrimitives.ReadSingleLittleEndian(corners[(12 * c)..]),
                    BinaryPrimitives.ReadSingleLittleEndian(corners[((12 * c) + 4)..]),
                    BinaryPrimitives.ReadSingleLittleEndian(corners[((12 * c) + 8)..]));
                if (!builder.TryAddVertex(p))
                {
                    throw source.Fault($"triangle {t}", $"corner {p} is not finite");
                }
            }

            builder.AddFace([3 * t, (3 * t) + 1, (3 * t) + 2], part);
        }
    }

    private static bool Is(ReadOnlySpan<byte> word, ReadOnlySpan<byte> keyword) => Ascii.EqualsIgnoreCase(word, keyword);

    private sealed class TextParser(MeshSource source, ScanBuilder builder)
    {
        private readonly List<int> _loop = [];
        private int _part;

        public void Run()
        {
            var text = new TextScanner(source.Bytes, comments: false);
            int solids = 0;
            bool open = false;
            while (text.TryWordBelow(out ReadOnlySpan<byte> word))
            {
                if (Is(word, "solid"u8))
                {
                    string name = Encoding.UTF8.GetString(text.RestOfLine());
                    _part = builder.Part(solids, name, null);
                    solids++;
                    open = true;
                }
                else if (Is(word, "facet"u8) || Is(word, "endsolid"u8))
                {
                    open &= Is(word, "facet"u8);

                    // Normals follow from the corners; the name of the solid is known.
                    text.RestOfLine();
                }
                else if (Is(word, "outer"u8))
                {
                    text.RestOfLine();
                    ReadLoop(ref text);
                }
                else if (!Is(word, "endfacet"u8))
                {
                    throw source.Fault($"line {text.Line}", $"'{TextScanner.Quoted(word)}' where a facet should begin or end");
                }
            }

            if (open)
            {
                throw source.Fault($"line {text.Line}", "the file ends within a solid");
            }
        }

        private void ReadLoop(ref TextScanner text)
        {
            _loop.Clear();
            while (true)
            {
                if (!text.TryWordBelow(out ReadOnlySpan<byte> word))
                {
                    throw source.Fault($"line {text.Line}", "the file ends within a facet");
                }

                if (Is(word, "endloop"u8))
                {
                    break;
                }

                if (!Is(word, "vertex"u8))
                {
                    throw source.Fault($"line {text.Line}", $"'{TextScanner.Quoted(word)}' where a vertex should be");
                }

                _loop.Add(ReadVertex(ref text));
            }

            builder.AddFace(CollectionsMarshal.AsSpan(_loop), _part);
        }

        private int ReadVertex(ref TextScanner text)
        {
            Vector3 p = default;
            for (int axis = 0; axis < 3; axis++)
            {
                if (!text.TryWordBelow(out ReadOnlySpan<byte> word))
                {
                    throw source.Fault($"line {text.Line}", "the file ends within a vertex");
                }

                if (!TextScanner.TryNumber(word, out float value))
                {
                    throw source.Fault($"line {text.Line}", $"'{TextScanner.Quoted(word)}' is not a finite number");
                }

                p[axis] = value;
            }

            builder.TryAddVertex(p);
            return builder.VertexCount - 1;
        }
    }
}
