using System.Security.Cryptography;

namespace AutoPlace.Import;

/// <summary>The bytes of a mesh file with its name and hash.</summary>
internal sealed class MeshSource
{
    private const int ChunkBytes = 1 << 20;

    private readonly byte[] _bytes;
    private readonly int _length;

    private MeshSource(string name, byte[] bytes, int length, string sha256, MeshReadOptions options)
    {
        Name = name;
        _bytes = bytes;
        _length = length;
        Sha256 = sha256;
        Options = options;
    }

    /// <summary>Name as the user gave it.</summary>
    public string Name { get; }

    /// <summary>Whole contents.</summary>
    public ReadOnlySpan<byte> Bytes => _bytes.AsSpan(0, _length);

    /// <summary>Whole contents, for readers that keep them.</summary>
    public ReadOnlyMemory<byte> Memory => _bytes.AsMemory(0, _length);

    /// <summary>SHA-256 of the contents, lower-case hexadecimal; of the hashes so far and of the file where files beside it were read.</summary>
    public string Sha256 { get; private set; }

    /// <summary>How to read it.</summary>
    public MeshReadOptions Options { get; }

    /// <summary>Extension without the dot, lower case; empty when there is none.</summary>
    public string Extension => Path.GetExtension(Name).TrimStart('.').ToLowerInvariant();

    /// <summary>Reads a stream to its end; the hash is taken from the same pass.</summary>
    /// <param name="stream">Read from its current position.</param>
    /// <param name="name">Name of the file as the user gave it.</param>
    /// <param name="options">How to read it.</param>
    /// <exception cref="MeshFormatException">The stream fails, or holds more bytes than one array.</exception>
    public static MeshSource Load(Stream stream, string name, MeshReadOptions options)
    {
        try
        {
            (byte[] bytes, int length, string sha256) = ReadToEnd(stream, name);
            return new MeshSource(name, bytes, length, sha256, options);
        }
        catch (Exception e) when (e is IOException or UnauthorizedAccessException or NotSupportedException)
        {
            throw new MeshFormatException(name, null, e.Message, e);
        }
    }

    /// <summary>Takes a file beside this one into the hash. Files count in the order in which they are read.</summary>
    public void HashBeside(ReadOnlySpan<byte> contents) =>
        Sha256 = Convert.ToHexStringLower(SHA256.HashData([.. Convert.FromHexString(Sha256), .. SHA256.HashData(contents)]));

    /// <summary>The exception for a faulty element of this file.</summary>
    public MeshFormatException Fault(string? element, string reason, Exception? inner = null) =>
        new(Name, element, reason, inner);

    private static (byte[] Bytes, int Length, string Sha256) ReadToEnd(Stream stream, string name)
    {
        using var hash = IncrementalHash.CreateHash(HashAlgorithmName.SHA256);
        long expected = stream.CanSeek ? Math.Max(0, stream.Length - stream.Position) : ChunkBytes;
        if (expected > Array.MaxLength)
        {
            throw TooLarge(name);
        }

        byte[] bytes = GC.AllocateUninitializedArray<byte>((int)expected);
        int length = 0;
        while (true)
        {
            if (length == bytes.Length)
            {
                int next = stream.ReadByte();
                if (next < 0)
                {
                    break;
                }

                Array.Resize(ref bytes, Grown(bytes.Length, name));
                bytes[length] = (byte)next;
                hash.AppendData(bytes, length, 1);
                length++;
            }

            int read = stream.Read(bytes, length, Math.Min(ChunkBytes, bytes.Length - length));
            if (read == 0)
            {
                break;
            }

            hash.AppendData(bytes, length, read);
            length += read;
        }

        return (bytes, length, Convert.ToHexStringLower(hash.GetHashAndReset()));
    }

    private static int Grown(int length, string name) => length >= Array.MaxLength
        ? throw TooLarge(name)
        : (int)Math.Min(Array.MaxLength, Math.Max(ChunkBytes, 2L * length));

    private static MeshFormatException TooLarge(string name) =>
        new(name, null, $"larger than {Array.MaxLength} bytes, the most that can be read");
}
