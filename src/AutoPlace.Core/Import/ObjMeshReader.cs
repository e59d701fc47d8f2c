using System.Numerics;
using System.Runtime.InteropServices;
using System.Text;

namespace AutoPlace.Import;

/// <summary>
/// Reads the polygons of a Wavefront OBJ file: <c>v</c>, <c>f</c>, <c>o</c>, <c>g</c>, <c>usemtl</c>. Points, lines,
/// curves and free-form surfaces are passed over.
/// </summary>
internal static class ObjMeshReader
{
    /// <summary>Reads the file.</summary>
    /// <exception cref="MeshFormatException">A line can't be read; the message names it.</exception>
    public static HeadScan Read(MeshSource source) => new Parser(source).Run();

    private sealed class Parser(MeshSource source)
    {
        private readonly ScanBuilder _builder = new(source, MeshFormat.Obj);
        private readonly Dictionary<string, int> _objects = new(StringComparer.Ordinal);
        private readonly List<int> _face = [];
        private string _object = "";
        private string? _material;
        private int _part = -1;
        private int _largestIndex = -1;
        private int _largestIndexLine;

        public HeadScan Run()
        {
            var text = new TextScanner(source.Bytes, comments: true, continuations: true);
            do
            {
                if (text.TryWord(out ReadOnlySpan<byte> keyword))
                {
                    ReadStatement(ref text, keyword);
                }
            }
            while (text.NextLine());

            if (_largestIndex >= _builder.VertexCount)
            {
                throw source.Fault(
                    $"line {_largestIndexLine}", $"vertex {_largestIndex + 1} of {_builder.VertexCount} vertices");
            }

            return _builder.Build(Welding.Borders, Pairing.IfProven);
        }

        private void ReadStatement(ref TextScanner text, ReadOnlySpan<byte> keyword)
        {
            if (keyword.SequenceEqual("v"u8))
            {
                ReadVertex(ref text);
            }
            else if (keyword.SequenceEqual("f"u8) || keyword.SequenceEqual("fo"u8))
            {
                ReadFace(ref text);
            }
            else if (keyword.SequenceEqual("o"u8) || keyword.SequenceEqual("g"u8))
            {
                _object = Encoding.UTF8.GetString(text.RestOfLine());
                _part = -1;
            }
            else if (keyword.SequenceEqual("usemtl"u8))
            {
                string name = Encoding.UTF8.GetString(text.RestOfLine());
                _material = name.Length == 0 ? null : name;
                _part = -1;
            }
        }

        private void ReadVertex(ref TextScanner text)
        {
            int line = text.Line;
            Vector3 p = default;
            for (int axis = 0; axis < 3; axis++)
            {
                if (!text.TryWord(out ReadOnlySpan<byte> word))
                {
                    throw source.Fault($"line {line}", $"vertex with {axis} coordinates");
                }

                if (!TextScanner.TryNumber(word, out float value))
                {
                    throw source.Fault($"line {line}", $"'{TextScanner.Quoted(word)}' is not a finite number");
                }

                p[axis] = value;
            }

            _builder.TryAddVertex(p);
        }

        private void ReadFace(ref TextScanner text)
        {
            int line = text.Line;
            _face.Clear();
            while (text.TryWord(out ReadOnlySpan<byte> word))
            {
                _face.Add(ReadCorner(word, line));
            }

            if (_part < 0)
            {
                if (!_objects.TryGetValue(_object, out int key))
                {
                    key = _objects.Count;
                    _objects.Add(_object, key);
                }

                _part = _builder.Part(key, _object, _material);
            }

            _builder.AddFace(CollectionsMarshal.AsSpan(_face), _part);
        }

        /// <summary>Vertex index from 0 of <c>v</c>, <c>v/vt</c>, <c>v//vn</c> or <c>v/vt/vn</c>.</summary>
        private int ReadCorner(ReadOnlySpan<byte> word, int line)
        {
            int slash = word.IndexOf((byte)'/');
            ReadOnlySpan<byte> number = slash < 0 ? word : word[..slash];
            if (!TextScanner.TryInteger(number, out long index))
            {
                throw source.Fault($"line {line}", $"'{TextScanner.Quoted(word)}' is not a face corner");
            }

            long vertex = index < 0 ? _builder.VertexCount + index : index - 1;
            if (index == 0 || vertex < 0 || vertex >= ScanBuilder.MaximumVertices)
            {
                throw source.Fault($"line {line}", $"vertex {index} of {_builder.VertexCount} vertices");
            }

            // Faces may come before their vertices, so the range is checked at the end.
            if (vertex >= _builder.VertexCount && vertex > _largestIndex)
            {
                _largestIndex = (int)vertex;
                _largestIndexLine = line;
            }

            return (int)vertex;
        }
    }
}
