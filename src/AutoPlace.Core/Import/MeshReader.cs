namespace AutoPlace.Import;

/// <summary>How a mesh file is read.</summary>
public sealed record MeshReadOptions
{
    /// <summary>
    /// Vertices and faces as the file has them: nothing welded, no triangles paired, no vertex left out, so that vertex
    /// numbers are those of the file. Default false.
    /// </summary>
    public bool AsAuthored { get; init; }

    /// <summary>
    /// Opens a file that a .gltf file refers to, by its path below the folder of that file ('/' between folders, never
    /// out of it). Default null: external buffers are refused, except by <see cref="MeshReader.Read(string, MeshReadOptions?)"/>.
    /// </summary>
    public Func<string, Stream>? OpenBeside { get; init; }
}

/// <summary>
/// Reads a mesh file. The format is judged by the content; the extension decides only between text formats that
/// have no mark of their own, and names formats that are refused.
/// </summary>
public static class MeshReader
{
    private const string Advice = "can't be read; export glTF (.glb) instead";
    private const int ProbeLines = 1000;

    /// <summary>Reads a file. A .gltf file may refer to files below its own folder, see <see cref="FilesBeside"/>.</summary>
    /// <param name="path">Path of a glTF, GLB, OBJ, PLY, STL or OFF file.</param>
    /// <param name="options">How to read it, or null for the defaults.</param>
    /// <exception cref="MeshFormatException">
    /// The file can't be opened, has a foreign format, or is faulty; the message names file, element and reason.
    /// </exception>
    public static HeadScan Read(string path, MeshReadOptions? options = null)
    {
        ArgumentException.ThrowIfNullOrEmpty(path);
        try
        {
            if (Directory.Exists(path))
            {
                throw new MeshFormatException(path, null, "is a folder");
            }

            using var stream = new FileStream(
                path, FileMode.Open, FileAccess.Read, FileShare.Read, bufferSize: 0, FileOptions.SequentialScan);
            options ??= new MeshReadOptions();
            return Read(stream, path, options with { OpenBeside = options.OpenBeside ?? FilesBeside.Of(path) });
        }
        catch (Exception e) when (e is IOException or UnauthorizedAccessException or NotSupportedException)
        {
            throw new MeshFormatException(path, null, e.Message, e);
        }
    }

    /// <summary>Reads a stream from its current position to its end.</summary>
    /// <param name="stream">Contents of the file; need not be seekable.</param>
    /// <param name="name">Name of the file with its extension, for messages and for text formats.</param>
    /// <param name="options">How to read it, or null for the defaults.</param>
    /// <exception cref="MeshFormatException">
    /// The stream fails, has a foreign format, or is faulty; the message names file, element and reason.
    /// </exception>
    public static HeadScan Read(Stream stream, string name, MeshReadOptions? options = null)
    {
        ArgumentNullException.ThrowIfNull(stream);
        ArgumentException.ThrowIfNullOrEmpty(name);
        var source = MeshSource.Load(stream, name, options ?? new MeshReadOptions());
        return Judge(source) switch
        {
            MeshFormat.Gltf => GltfMeshReader.Read(source),
            MeshFormat.Obj => ObjMeshReader.Read(source),
            MeshFormat.Ply => PlyMeshReader.Read(source),
            MeshFormat.Stl => StlMeshReader.Read(source),
            _ => OffMeshReader.Read(source),
        };
    }

    /// <summary>Which format it is.</summary>
    private static MeshFormat Judge(MeshSource source)
    {
        ReadOnlySpan<byte> bytes = source.Bytes;
        string extension = source.Extension;
        if (bytes.IsEmpty)
        {
            throw source.Fault(null, "the file is empty");
        }

        if (bytes.StartsWith("glTF"u8))
        {
            return MeshFormat.Gltf;
        }

        if (bytes.StartsWith("ply\n"u8) || bytes.StartsWith("ply\r"u8))
        {
            return MeshFormat.Ply;
        }

        // Before foreign formats: 80 bytes of a binary STL file are free and may look like anything.
        if (StlMeshReader.IsBinary(bytes) && (extension == "stl" || bytes.StartsWith("solid"u8)))
        {
            return MeshFormat.Stl;
        }

        if (ForeignFormats.ByContent(bytes, extension) is { } foreign)
        {
            throw source.Fault(null, $"{foreign} {Advice}");
        }

        return JudgeText(source) ?? JudgeRest(source);
    }

    private static MeshFormat? JudgeText(MeshSource source)
    {
        ReadOnlySpan<byte> bytes = source.Bytes;
        if (ForeignFormats.LooksBinary(bytes))
        {
            return null;
        }

        var text = new TextScanner(bytes, comments: true);
        if (!text.TryWordBelow(out ReadOnlySpan<byte> word))
        {
            throw source.Fault(null, "the file holds nothing but blanks and comments");
        }

        if (word[0] == (byte)'{')
        {
            return MeshFormat.Gltf;
        }

        if (OffMeshReader.IsKeyword(word))
        {
            return MeshFormat.Off;
        }

        if (StlMeshReader.IsText(bytes))
        {
            return MeshFormat.Stl;
        }

        return LooksLikeObj(bytes) ? MeshFormat.Obj : null;
    }

    /// <summary>What the extension says of content without a mark.</summary>
    private static MeshFormat JudgeRest(MeshSource source)
    {
        bool binary = ForeignFormats.LooksBinary(source.Bytes);
        switch (source.Extension)
        {
            case "obj" when !binary:
                return MeshFormat.Obj;
            case "off" when !binary:
                return MeshFormat.Off;
            case "stl":
                return MeshFormat.Stl;
            case "obj" or "off":
                throw source.Fault(null, "binary content where text should be");
            case "ply":
                throw source.Fault(null, "the file doesn't begin with 'ply'");
            case "glb":
                throw source.Fault(null, "the file doesn't begin with 'glTF'");
            case "gltf":
                throw source.Fault(null, "the file isn't JSON");
            default:
                string? foreign = ForeignFormats.ByExtension(source.Extension);
                if (foreign is null && StlMeshReader.IsBinary(source.Bytes))
                {
                    return MeshFormat.Stl;
                }

                throw source.Fault(null, foreign is null
                    ? "not a glTF, OBJ, PLY, STL or OFF file"
                    : $"{foreign} {Advice}");
        }
    }

    /// <summary>Whether one of the first lines is a vertex or face statement.</summary>
    private static bool LooksLikeObj(ReadOnlySpan<byte> bytes)
    {
        var text = new TextScanner(bytes, comments: true, continuations: true);
        for (int line = 0; line < ProbeLines; line++)
        {
            if (text.TryWord(out ReadOnlySpan<byte> word)
                && (word.SequenceEqual("v"u8) || word.SequenceEqual("f"u8))
                && text.TryWord(out word) && (TextScanner.TryNumber(word, out _) || word.Contains((byte)'/')))
            {
                return true;
            }

            if (!text.NextLine())
            {
                break;
            }
        }

        return false;
    }
}
