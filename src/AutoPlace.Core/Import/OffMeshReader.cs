using System.Numerics;
using System.Runtime.InteropServices;

namespace AutoPlace.Import;

/// <summary>
/// Reads Geomview's Object File Format, text: <c>OFF</c> with the prefixes ST, C and N (texture coordinates, colours and
/// normals after each position, passed over). Four- and n-dimensional and binary files are refused.
/// </summary>
internal static class OffMeshReader
{
    private const int LeastVertexBytes = 6;
    private const int LeastFaceBytes = 2;

    /// <summary>Whether a first word is the keyword of an OFF file of any kind.</summary>
    public static bool IsKeyword(ReadOnlySpan<byte> word)
    {
        if (!word.EndsWith("OFF"u8))
        {
            return false;
        }

        word = word[..^3];
        foreach (byte prefix in "SCN4n"u8)
        {
            if (!word.IsEmpty && word[0] == prefix)
            {
                word = word[(prefix == (byte)'S' && word.StartsWith("ST"u8) ? 2 : 1)..];
            }
        }

        return word.IsEmpty;
    }

    /// <summary>Reads the file.</summary>
    /// <exception cref="MeshFormatException">A line can't be read; the message names it.</exception>
    public static HeadScan Read(MeshSource source)
    {
        var text = new TextScanner(source.Bytes, comments: true);
        (int vertices, int faces) = ReadHeader(ref text, source);
        var builder = new ScanBuilder(source, MeshFormat.Off);
        builder.Reserve(vertices, faces, 3L * faces);
        for (int v = 0; v < vertices; v++)
        {
            builder.TryAddVertex(ReadVertex(ref text, source, v, vertices));
        }

        int part = builder.Part(0, Path.GetFileNameWithoutExtension(source.Name), null);
        var face = new List<int>();
        for (int f = 0; f < faces; f++)
        {
            ReadFace(ref text, source, f, faces, vertices, face);
            builder.AddFace(CollectionsMarshal.AsSpan(face), part);
        }

        return builder.Build(Welding.Borders, Pairing.IfProven);
    }

    private static (int Vertices, int Faces) ReadHeader(ref TextScanner text, MeshSource source)
    {
        if (!text.TryWordBelow(out ReadOnlySpan<byte> word))
        {
            throw source.Fault(null, "the file is empty");
        }

        if (IsKeyword(word))
        {
            if (word.Contains((byte)'4') || word.Contains((byte)'n'))
            {
                throw source.Fault(
                    $"line {text.Line}", $"{TextScanner.Quoted(word)} (more than three dimensions) can't be read; export glTF instead");
            }

            text.TryWordBelow(out word);
        }

        if (word.SequenceEqual("BINARY"u8))
        {
            throw source.Fault($"line {text.Line}", "binary OFF can't be read; export glTF or text OFF instead");
        }

        long vertices = ReadCount(word, ref text, source, "vertices");
        text.TryWordBelow(out word);
        long faces = ReadCount(word, ref text, source, "faces");
        long left = source.Bytes.Length - text.Position;
        if (vertices > left / LeastVertexBytes || faces > left / LeastFaceBytes)
        {
            throw source.Fault(
                $"line {text.Line}", $"{vertices} vertices and {faces} faces don't fit the {left} bytes that follow");
        }

        return ((int)vertices, (int)faces);
    }

    private static long ReadCount(ReadOnlySpan<byte> word, ref TextScanner text, MeshSource source, string what)
    {
        if (!TextScanner.TryInteger(word, out long count) || count < 0)
        {
            throw source.Fault($"line {text.Line}", $"'{TextScanner.Quoted(word)}' is not a number of {what}");
        }

        return count;
    }

    private static Vector3 ReadVertex(ref TextScanner text, MeshSource source, int vertex, int count)
    {
        Vector3 p = default;
        NextFilledLine(ref text, source, $"vertex {vertex} of {count}", out ReadOnlySpan<byte> word);
        for (int axis = 0; axis < 3; axis++)
        {
            if (axis > 0 && !text.TryWord(out word))
            {
                throw source.Fault($"line {text.Line}", $"vertex {vertex} with {axis} coordinates");
            }

            if (!TextScanner.TryNumber(word, out float value))
            {
                throw source.Fault($"line {text.Line}", $"'{TextScanner.Quoted(word)}' is not a finite number");
            }

            p[axis] = value;
        }

        return p;
    }

    private static void ReadFace(
        ref TextScanner text, MeshSource source, int face, int faceCount, int vertexCount, List<int> vertices)
    {
        NextFilledLine(ref text, source, $"face {face} of {faceCount}", out ReadOnlySpan<byte> word);
        if (!TextScanner.TryInteger(word, out long corners) || corners < 0)
        {
            throw source.Fault($"line {text.Line}", $"'{TextScanner.Quoted(word)}' is not a number of corners");
        }

        vertices.Clear();
        for (long c = 0; c < corners; c++)
        {
            if (!text.TryWord(out word))
            {
                throw source.Fault($"line {text.Line}", $"face {face} with {c} of {corners} corners");
            }

            if (!TextScanner.TryInteger(word, out long v) || v < 0 || v >= vertexCount)
            {
                throw source.Fault($"line {text.Line}", $"vertex {TextScanner.Quoted(word)} of {vertexCount} vertices");
            }

            vertices.Add((int)v);
        }
    }

    private static void NextFilledLine(
        ref TextScanner text, MeshSource source, string what, out ReadOnlySpan<byte> word)
    {
        text.NextLine();
        if (!text.TryWordBelow(out word))
        {
            throw source.Fault(what, "the file ends before it");
        }
    }
}
